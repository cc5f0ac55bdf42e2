/** What was done at a tab and may be taken back, or done again: it outlasts a reload, and ends with the tab. */

export type Acts<T> = Readonly<{ done: readonly T[]; undone: readonly T[] }>;
const MOST = 100;

export function recallActs<T>(key: string): Acts<T> {
  try {
    const kept = JSON.parse(sessionStorage.getItem(`annotator ${key}`) ?? "{}") as Partial<Acts<T>>;
    return { done: Array.isArray(kept.done) ? kept.done : [], undone: Array.isArray(kept.undone) ? kept.undone : [] };
  } catch {
    return { done: [], undone: [] }; // the browser forbids it, or something else stands there
  }
}

export function rememberActs<T>(key: string, { done, undone }: Acts<T>): void {
  try {
    sessionStorage.removeItem(`annotator ${key}`); // where the new ones find no room, old ones would be wrong
    if (done.length + undone.length > 0)
      sessionStorage.setItem(`annotator ${key}`, JSON.stringify({ done: done.slice(-MOST), undone: undone.slice(-MOST) }));
  } catch {
    // Then they last as long as the page.
  }
}
