/** What this browser remembers, where it may; a browser that forbids it forgets, and nothing breaks. */

export function recall(key: string): string | null {
  try {
    return localStorage.getItem(`annotator ${key}`);
  } catch {
    return null;
  }
}

export function remember(key: string, value: string | null): void {
  try {
    if (value === null) localStorage.removeItem(`annotator ${key}`);
    else localStorage.setItem(`annotator ${key}`, value);
  } catch {
    // Private windows may refuse; then it lasts as long as the page.
  }
}

/** What is remembered under all keys that begin so, by key. */
export function recallAll(prefix: string): ReadonlyMap<string, string> {
  const found = new Map<string, string>();
  try {
    for (const name of Object.keys(localStorage)) {
      const value = localStorage.getItem(name);
      if (name.startsWith(`annotator ${prefix}`) && value !== null) found.set(name.slice("annotator ".length), value);
    }
  } catch {
    // Nothing was remembered then.
  }
  return found;
}
