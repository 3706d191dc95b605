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
  const changed = f => f.tagName === "SELECT" ? ![...f.options].every(o => o.selected === o.defaultSelected || f.selectedIndex === 0) : f.value !== f.defaultValue;
  const busy = el => el.contains(document.activeElement) && document.activeElement.matches("input, textarea, select, button, summary, a") ||
    [...el.querySelectorAll("textarea, select, input:not([type=hidden])")].some(changed);

  // What was opened stays open.
  const keepOpen = (old, fresh) => {
    if (old.tagName === "DETAILS") fresh.open = old.open;
    for (const d of old.querySelectorAll("details[id]")) {
      const same = fresh.querySelector("#" + CSS.escape(d.id));
      if (same) same.open = d.open;
    }
  };

  const settle = doc => {
    document.title = doc.title;
    document.body.className = doc.body.className;
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
      const top = to.getBoundingClientRect().top;
      if (top < 0 || top > innerHeight / 2) to.scrollIntoView({ block: "start" });
    }
    say(news(document));
  };

  document.addEventListener("submit", async e => {
    const form = e.target, by = e.submitter;
    if (!form.matches("[data-swap]")) return;
    e.preventDefault();
    if (form.dataset.sent) return;
    form.dataset.sent = "yes";
    sending++;
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
      notSent(form);
    } finally {
      sending--;
      if (again) { again = false; refresh(); }
    }
  });

  const notSent = form => {
    say("It could not be sent. Is there a connection? Try again.");
    if (form.querySelector(".wrong")) return;
    const p = document.createElement("p");
    p.className = "wrong";
    p.textContent = "It could not be sent. Is there a connection? Try again.";
    form.prepend(p);
  };

  addEventListener("popstate", () => location.reload());

  // News: load the page once more and put in place what differs.
  let source = null, asked = false, again = false, sending = 0;
  const refresh = async () => {
    if (asked || sending) { again = true; return; } // what is being sent brings its own page
    asked = true;
    try {
      const r = await fetch(location.href.split("#")[0]);
      if (!r.ok) return;
      const doc = parse(await r.text()), before = news(document);
      if (sending) { again = true; return; }
      let held = false;
      for (const el of document.querySelectorAll("[data-live]")) {
        const fresh = doc.getElementById(el.id);
        if (!fresh) continue;
        keepOpen(el, fresh);
        if (fresh.isEqualNode(el)) continue;
        if (busy(el)) { held = true; continue; }
        const focused = el.contains(document.activeElement);
        const node = document.adoptNode(fresh);
        el.replaceWith(node);
        node.classList.add("fresh");
        node.addEventListener("animationend", () => node.classList.remove("fresh"), { once: true });
        if (focused) (node.querySelector("[data-focus]") || document.querySelector("[data-focus]") || document.body).focus({ preventScroll: true });
      }
      const now = news(doc), place = document.getElementById("news");
      if (place) place.textContent = now;
      document.title = doc.title;
      if (held) offer();
      if (now !== before) say(now);
    } catch { // the next news tries again
    } finally {
      asked = false;
      if (again && !sending) { again = false; refresh(); }
    }
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
