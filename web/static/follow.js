// Puts what changed in place instead of loading a page anew. Without this file
// every form and link works as it is.
"use strict";
(() => {
  const parse = text => new DOMParser().parseFromString(text, "text/html");
  const say = text => {
    const live = document.getElementById("live");
    if (!live || !text) return;
    live.textContent = "";
    requestAnimationFrame(() => { live.textContent = text; });
  };
  const news = doc => (doc.getElementById("news") || {}).textContent || "";

  // Somebody is at work in an element: it must not be taken away under their hands.
  const busy = el => el.contains(document.activeElement) && el !== document.activeElement ||
    [...el.querySelectorAll("textarea, input:not([type=hidden])")].some(f => f.value !== f.defaultValue);

  const settle = doc => {
    document.title = doc.title;
    const now = doc.body.dataset.follow;
    if (now !== document.body.dataset.follow) { now ? document.body.dataset.follow = now : delete document.body.dataset.follow; listen(); }
  };

  // A form was sent: the whole of main is what the server says now.
  const swap = (doc, url) => {
    const main = document.getElementById("main"), fresh = doc.getElementById("main");
    if (!fresh) return location.assign(url);
    main.replaceWith(document.adoptNode(fresh));
    settle(doc);
    const to = fresh.querySelector("[data-focus]");
    if (to) {
      to.focus({ preventScroll: true });
      to.closest("section, form, main").scrollIntoView({ block: "nearest" });
      const top = to.getBoundingClientRect().top;
      if (top < 0 || top > innerHeight * 0.8) to.scrollIntoView({ block: "start" });
    }
    say(news(document));
  };

  document.addEventListener("submit", async e => {
    const form = e.target, by = e.submitter;
    if (!form.matches("[data-swap]") || form.dataset.sent) return;
    e.preventDefault();
    form.dataset.sent = "yes";
    if (by) by.setAttribute("aria-busy", "true");
    const data = new URLSearchParams(new FormData(form));
    if (by && by.name) data.set(by.name, by.value);
    try {
      const r = await fetch(form.action, { method: "POST", body: data, headers: { Accept: "text/html" } });
      const doc = parse(await r.text()), url = r.url.split("#")[0];
      if (url !== location.href.split("#")[0]) history.pushState({}, "", url);
      swap(doc, url);
    } catch {
      delete form.dataset.sent;
      if (by) by.removeAttribute("aria-busy");
      say("It could not be sent. Is there a connection? Try again.");
      form.submit && form.requestSubmit && showOffline(form);
    }
  });

  const showOffline = form => {
    if (form.querySelector(".wrong")) return;
    const p = document.createElement("p");
    p.className = "wrong";
    p.textContent = "It could not be sent. Is there a connection? Try again.";
    form.prepend(p);
  };

  addEventListener("popstate", () => location.reload());

  // News: load the page once more and put in place what differs.
  let source = null, asked = false;
  const refresh = async () => {
    if (asked) return;
    asked = true;
    try {
      const r = await fetch(location.href.split("#")[0]);
      if (!r.ok) return;
      const doc = parse(await r.text());
      const before = news(document);
      let held = false, changed = false;
      for (const el of document.querySelectorAll("[data-live]")) {
        const fresh = doc.getElementById(el.id);
        if (!fresh) continue;
        if (el.tagName === "DETAILS") fresh.open = el.open;
        if (fresh.isEqualNode(el)) continue;
        if (busy(el)) { held = true; continue; }
        const node = document.adoptNode(fresh);
        el.replaceWith(node);
        node.classList.add("fresh");
        changed = true;
      }
      const n = document.getElementById("news"), m = doc.getElementById("news");
      if (n && m) n.textContent = m.textContent;
      document.title = doc.title;
      if (held) offer();
      if (changed || held) say(news(document) !== before ? news(document) : "");
    } finally { asked = false; }
  };

  // What could not be put in place is offered.
  const offer = () => {
    if (document.getElementById("offer")) return;
    const p = document.createElement("p");
    p.id = "offer";
    p.className = "offer";
    const b = document.createElement("button");
    b.type = "button";
    b.textContent = "There is news. Show it";
    b.addEventListener("click", () => location.reload());
    p.append(b);
    document.getElementById("main").prepend(p);
  };

  const listen = () => {
    if (source) source.close();
    source = null;
    const at = document.body.dataset.follow;
    if (!at || !window.EventSource) return;
    source = new EventSource(at);
    source.addEventListener("changed", refresh);
  };
  listen();
})();
