// @ts-check
/* Keeps one edition of the booklet on a phone: after one visit it opens without a network. Never mixes editions: a page whose content is not
   this edition's is not kept. What it holds stands in `edition`, written when the booklet is. */

/**
 * @typedef {{code: string, pages: Record<string, Record<string, string>>, shared: Record<string, string[]>, pictures: Record<string, [number, string][]>[]}} Kept
 * pages by language: path to the beginning of the SHA-256 of its content; pictures: for each still, by kind, [width in px, path] from small to large
 * @typedef {{language: string, kind: string, width: number}} Wish
 */
/** @type {Kept} */
const edition = /*EDITION*/ { code: "", pages: {}, shared: {}, pictures: [] };
const worker = /** @type {any} */ (self);
/** @type {string} */
const scope = worker.registration.scope;
const family = `booklet ${scope} `;
const holding = `${family}${edition.code}`, wishes = `${family}wishes`;
const AT_ONCE = 3;
const hashes = /** @type {Record<string, string>} */ (Object.assign({}, ...Object.values(edition.pages)));
const pictures = edition.pictures.flatMap((still) => Object.values(still).flatMap((sizes) => sizes.map(([, path]) => path)));
const known = new Set([...Object.keys(hashes), ...Object.values(edition.shared).flat(), ...pictures]);

const at = (/** @type {string} */ path) => new URL(path, scope).href;

/** Which files a reader needs: the pages of one language and the first page of all, what they share, small pictures and the one that fits. @param {Wish} wish */
function needed(wish) {
  const own = edition.pages[wish.language] ?? Object.values(edition.pages)[0];
  const stills = edition.pictures.flatMap((kinds) => {
    const sizes = kinds[wish.kind] ?? kinds.jpg;
    const fitting = sizes.find(([width]) => width >= 0.8 * wish.width) ?? sizes[sizes.length - 1];
    return [...new Set([sizes[0][1], fitting[1]])];
  });
  return [...edition.shared[""], ...(edition.shared[wish.language] ?? []), ...new Set([...Object.keys(own), "index.html"]), ...stills];
}

/** Fetch what is not here yet, a few at a time; files with their hash in the name come from an older edition's keep where they stand there,
    pages whole from the host, as one that goes by times may call another edition's unchanged. @param {string[]} paths */
async function keep(paths) {
  const cache = await caches.open(holding);
  const left = [...paths];
  const carry = async () => {
    for (let path = left.shift(); path !== undefined; path = left.shift()) {
      if (await cache.match(at(path))) continue;
      const older = path in hashes ? undefined : await fromOlder(at(path));
      const found = older ?? (await fetch(at(path), { cache: path in hashes ? "reload" : "default" }));
      if (!found.ok) throw new Error(`${path}: ${found.status}`);
      const body = await found.arrayBuffer();
      if (path in hashes && !(await sha(body)).startsWith(hashes[path])) throw new Error(`${path} is of another edition`);
      await cache.put(at(path), new Response(body, { headers: { "Content-Type": found.headers.get("Content-Type") ?? "" } }));
    }
  };
  await Promise.all(Array.from({ length: AT_ONCE }, carry));
}

/** @param {string} address @returns {Promise<Response | undefined>} */
async function fromOlder(address) {
  for (const name of await caches.keys())
    if (name.startsWith(family) && name !== holding) {
      const found = await (await caches.open(name)).match(address);
      if (found) return found;
    }
  return undefined;
}

/** @param {ArrayBuffer} body */
async function sha(body) {
  const bytes = new Uint8Array(await crypto.subtle.digest("SHA-256", body));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** @returns {Promise<Wish | null>} */
async function wished() {
  const found = await (await caches.open(wishes)).match(at("wish"));
  return found ? found.json() : null;
}

worker.addEventListener("install", (/** @type {any} */ event) => {
  event.waitUntil(wished().then((wish) => keep(wish ? needed(wish) : edition.shared[""])));
});

worker.addEventListener("activate", (/** @type {any} */ event) => {
  const older = (/** @type {string} */ name) => name.startsWith(family) && name !== holding && name !== wishes;
  event.waitUntil(caches.keys().then((names) => Promise.all(names.filter(older).map((name) => caches.delete(name)))));
});

worker.addEventListener("message", (/** @type {any} */ event) => {
  if (event.data?.go) worker.skipWaiting();
  if (event.data?.keep) event.waitUntil(keepFor(event.data.keep, event.source));
});

/** @param {Wish} wish @param {{postMessage: (said: unknown) => void} | null} reader */
async function keepFor(wish, reader) {
  await (await caches.open(wishes)).put(at("wish"), new Response(JSON.stringify(wish)));
  try {
    await keep(needed(wish));
    reader?.postMessage({ kept: true });
  } catch {
    // the network went away in between, or a newer edition is there: the next page that opens asks again
  }
}

worker.addEventListener("fetch", (/** @type {any} */ event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || !url.href.startsWith(scope)) return;
  let path = url.href.slice(scope.length).replace(/[?#].*$/, "");
  if (path === "" || path.endsWith("/")) path += "index.html";
  if (known.has(path)) event.respondWith(answer(path, event.request));
});

/** @param {string} path @param {Request} request */
async function answer(path, request) {
  const cache = await caches.open(holding);
  const held = await cache.match(at(path));
  if (held) return held;
  try {
    return await fetch(request);
  } catch (error) {
    const other = path in hashes ? await inKeptLanguage(path) : await otherSize(cache, path);
    if (other) return other;
    throw error;
  }
}

/** The same page in the language that is kept. @param {string} path */
async function inKeptLanguage(path) {
  const wish = await wished();
  const own = Object.keys((wish && edition.pages[wish.language]) ?? {});
  const same = own.find((one) => one.split("/").pop() === path.split("/").pop());
  return same && same !== path ? Response.redirect(at(same)) : undefined;
}

/** The same still in a size that is kept, the largest first. @param {Cache} cache @param {string} path */
async function otherSize(cache, path) {
  const still = edition.pictures.find((kinds) => Object.values(kinds).some((sizes) => sizes.some(([, one]) => one === path)));
  const paths = Object.values(still ?? {}).flat().sort(([one], [other]) => other - one);
  for (const [, one] of paths) {
    const held = await cache.match(at(one));
    if (held) return held;
  }
  return undefined;
}
