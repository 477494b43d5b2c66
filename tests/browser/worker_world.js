// A tablet as the worker of the floor sees it: caches that outlive it, pages that are open, and a link that answers, cuts off
// or is dead. `text` is the script of the worker; a tale of test_worker.py is told after this.
const kept = new Map();
const of = (name) => kept.get(name) ?? kept.set(name, new Map()).get(name);
const path = (asked) => new URL(asked.url ?? asked, 'https://works').pathname;
const one = (name, asked) => { const text = kept.get(name)?.get(path(asked)); return text === undefined ? undefined : new Response(text); };
const caches = {
  open: async (name) => ({
    put: async (asked, answer) => void of(name).set(path(asked), await answer.text()),
    match: async (asked) => one(name, asked),
    delete: async (asked) => of(name).delete(path(asked)),
    keys: async () => [...of(name).keys()].map((key) => ({ url: `https://works${key}` })),
  }),
  match: async (asked, { cacheName } = {}) => (cacheName ? one(cacheName, asked) : [...kept.keys()].map((name) => one(name, asked)).find(Boolean)),
  keys: async () => [...kept.keys()],
  delete: async (name) => kept.delete(name),
};
const pages = new Map();
const open = (id, url) => pages.set(id, { id, url: `https://works${url}`, told: [], postMessage(words) { this.told.push(words); } });
const asked = [];
let link = () => { throw new TypeError('Failed to fetch'); };
const fetch = async (request) => {
  const address = path(request);
  asked.push(address);
  return link(address);
};
const SHELL = ['/floor/shell/', '/static/floor/tablet.js', '/static/floor/link.js'];
const from = (version) => (address) => new Response(`${address} of ${version}`, { headers: { 'Floor-Shell': version } });

// A worker that begins: it remembers nothing but what is in the caches.
async function worker(version) {
  const on = {};
  const self = { addEventListener: (name, act) => { on[name] = act; }, skipWaiting() {}, clients: { claim() {}, get: async (id) => pages.get(id), matchAll: async () => [...pages.values()] } };
  new Function('self', 'caches', 'fetch', 'SHELL', 'VERSION', 'BESIDE', 'BESIDE_VERSION', text)(self, caches, fetch, SHELL, version, [], '');
  const waited = async (event, name) => { let all; on[name]({ waitUntil: (promise) => { all = promise; }, ...event }); await all; };
  const given = async (event) => { let answer; on.fetch({ respondWith: (promise) => { answer = promise; }, ...event }); return answer; };
  const request = (url, more) => ({ url: `https://works${url}`, method: 'GET', referrer: '', headers: new Headers(), ...more });
  return {
    install: () => waited({}, 'install'),
    activate: () => waited({}, 'activate'),
    message: (data) => waited({ data }, 'message'),
    page: (url, id) => given({ request: request(url, { mode: 'navigate' }), resultingClientId: id, clientId: '' }),
    form: (url, id) => given({ request: request(url, { mode: 'navigate', method: 'POST' }), resultingClientId: 'new', clientId: id }),
    part: (url, id) => given({ request: request(url, { mode: 'cors' }), clientId: id, resultingClientId: '' }).then((answer) => (answer.type === 'error' ? 'nothing' : answer.text())),
  };
}
async function begun(version) {
  link = from(version);
  const here = await worker(version);
  await here.install();
  await here.activate();
  return here;
}
const dead = () => { link = () => { throw new TypeError('Failed to fetch'); }; asked.length = 0; };
