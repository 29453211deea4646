// The board changes by itself: the server tells of each change, and the board is then fetched
// anew and put in the place of the old one, keeping the reader's place and focus. A page about one
// train says that its answer has changed, since drawings and figures of it would not follow.
// Whenever it cannot be known that nothing has changed, the page says that it may be out of date.
"use strict";

const SILENCE_MS = 12000; // the server speaks every five seconds
const RETRY_MS = 2000;
const GRACE_MS = 3000; // a stream that ends in its time is asked for again by the browser
const GATHER_MS = 150; // changes that come together are shown together

const warning = document.getElementById("stale");
let shown = Number(document.getElementById("live").dataset.change);
let day = document.getElementById("live").dataset.day;
let until = document.getElementById("live").dataset.until;
let wanted = shown;
let source = null;
let silence = 0;
let pending = 0;
let fetching = false;

const clock = () => new Date().toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", second: "2-digit" });

function stale(why) {
  if (!warning.hidden) return;
  document.getElementById("stale-since").textContent = `${why} since ${clock()}.`;
  warning.hidden = false;
  document.body.classList.add("stale");
  document.body.classList.remove("live-on");
}

function certain() {
  warning.hidden = true;
  if (document.getElementById("changed")?.hidden ?? true) document.body.classList.remove("stale");
  document.body.classList.add("live-on");
}

function listen() {
  source?.close();
  source = new EventSource("/api/v1/changes");
  source.onmessage = (event) => {
    clearTimeout(silence);
    silence = setTimeout(() => lost("No word from the server"), SILENCE_MS);
    const told = JSON.parse(event.data);
    wanted = Math.max(wanted, told.last_change);
    // Rule sets come into force at midnight, and stored air counts for a while, without an entry.
    const over = until && Date.parse(told.now) >= Date.parse(until);
    if (wanted > shown || told.today !== day || over || !warning.hidden) refresh();
    else certain();
  };
  source.onerror = () => {
    clearTimeout(silence);
    const closed = source?.readyState === EventSource.CLOSED;
    if (closed) lost("The server does not tell of changes");
    else silence = setTimeout(() => lost("The connection was lost"), GRACE_MS);
  };
}

function lost(why) {
  stale(why);
  source?.close();
  source = null;
  clearTimeout(silence);
  clearTimeout(pending);
  pending = 0;
  if (!document.hidden) silence = setTimeout(listen, RETRY_MS);
}

function refresh() {
  if (!pending && !fetching) pending = setTimeout(renew, GATHER_MS);
}

async function renew() {
  pending = 0;
  fetching = true;
  try {
    const answer = await fetch(location.href, { cache: "no-store" });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const next = page.getElementById("live");
    if (!answer.ok || !next) throw new Error(answer.statusText);
    if ("tell" in next.dataset) {
      tell(next);
    } else {
      replace(next);
      document.getElementById("as-at").textContent = page.getElementById("as-at").textContent;
    }
    shown = Number(next.dataset.change);
    day = next.dataset.day;
    until = next.dataset.until;
  } catch {
    fetching = false;
    lost("The board cannot be fetched");
    return;
  }
  fetching = false;
  if (wanted > shown) refresh();
  else if (source) certain();
}

function tell(next) {
  if (next.textContent === document.getElementById("live").textContent) return;
  document.getElementById("changed").hidden = false;
  document.body.classList.add("stale");
}

// A link is found again by where it leads and by which of several it is.
const alike = (root, link) =>
  [...root.querySelectorAll("a, summary")].filter((other) => other.outerHTML === link.outerHTML);

function replace(next) {
  const live = document.getElementById("live");
  const focused = live.contains(document.activeElement) ? document.activeElement : null;
  const which = focused && alike(live, focused).indexOf(focused);
  const sections = [...live.querySelectorAll("section[id]")];
  const top = (element) => element.getBoundingClientRect().top;
  const inView = sections.find((section) => section.getBoundingClientRect().bottom > 0);
  const before = inView && top(inView);
  live.replaceWith(document.adoptNode(next));
  const again = inView && document.getElementById(inView.id);
  if (again) window.scrollBy(0, top(again) - before);
  if (focused) alike(next, focused)[which]?.focus({ preventScroll: true });
}

// A board that nobody sees does not hold a connection; before it is seen again it is fetched.
document.addEventListener("visibilitychange", () => {
  if (document.hidden) {
    lost("This board was not followed while it was out of sight");
  } else {
    listen();
  }
});
listen();
