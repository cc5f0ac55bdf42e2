// @ts-check
/* What this reader chose, kept on this phone; where a browser keeps nothing, it is as if nothing was ever chosen. */

/** @param {string} what @returns {string | null} */
function recall(what) {
  try {
    return localStorage.getItem(`booklet ${what}`);
  } catch {
    return null;
  }
}

/** @param {string} what @param {string} value */
function remember(what, value) {
  try {
    localStorage.setItem(`booklet ${what}`, value);
  } catch {
    // a private window: the choice holds for this page
  }
}

/** One element, or an error that names what is missing: pages and script come from one release. @param {ParentNode} root @param {string} selector @returns {HTMLElement} */
function one(root, selector) {
  const found = root.querySelector(selector);
  if (!(found instanceof HTMLElement)) throw new Error(`no ${selector} on this page`);
  return found;
}

/** @param {ParentNode} root @param {string} selector @returns {HTMLElement[]} */
function all(root, selector) {
  return /** @type {HTMLElement[]} */ ([...root.querySelectorAll(selector)]);
}

/** What stands as JSON in an element of the page. @param {ParentNode} root @param {string} selector */
function told(root, selector) {
  return JSON.parse(one(root, selector).textContent ?? "null");
}
