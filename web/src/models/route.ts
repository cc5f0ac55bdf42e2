/** Which page is open: the address as a value, and going elsewhere without a reload. */

import { computed, signal } from "@preact/signals";

export type Route =
  | { page: "courses" }
  | { page: "take-in" }
  | { page: "course"; course: string }
  | { page: "station"; course: string; number: number }
  | { page: "walk"; course: string }
  | { page: "nowhere" };

export function read(path: string): Route {
  const parts = path.split("/").filter(Boolean).map(decode);
  if (parts.length === 0) return { page: "courses" };
  if (parts.length === 1 && parts[0] === "take-in") return { page: "take-in" };
  const [first, course, number] = parts;
  if (first !== "course" || course === undefined || parts.length > 3) return { page: "nowhere" };
  if (number === undefined) return { page: "course", course };
  if (number === "walk") return { page: "walk", course };
  return /^[1-9]\d{0,3}$/.test(number) ? { page: "station", course, number: Number(number) } : { page: "nowhere" };
}

function decode(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}

export const to = {
  courses: "/",
  takeIn: "/take-in",
  course: (course: string) => `/course/${encodeURIComponent(course)}`,
  walk: (course: string) => `/course/${encodeURIComponent(course)}/walk`,
  station: (course: string, number: number) => `/course/${encodeURIComponent(course)}/${number}`,
};

const path = signal(typeof location === "undefined" ? "/" : location.pathname);
export const route = computed<Route>(() => read(path.value));

export function go(address: string): void {
  if (address !== path.value) {
    history.pushState(null, "", address);
    path.value = address;
    scrollTo(0, 0);
  }
}

/** Follows the browser's own back and forward; returns the call that stops. */
export function followHistory(): () => void {
  const follow = () => {
    path.value = location.pathname;
  };
  addEventListener("popstate", follow);
  return () => removeEventListener("popstate", follow);
}
