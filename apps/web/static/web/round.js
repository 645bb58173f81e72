// A round without a network: taps are kept on the phone under the keys of their forms and sent
// when there is a network again; the server takes each once. What waits is said on the page. A
// copy of the page for reloading without a network is kept by the worker; it holds no address,
// and both are wiped when the day after the round is over.
"use strict";
(() => {
  const root = document.getElementById("round");
  if (!root) return;
  const { address, wipedAt, worker, saidWaiting, saidSent, saidRefused } = root.dataset;
  const NAME = `round ${address}`;
  const told = root.querySelector("[data-waiting]");
  const now = () => new Date();

  // Queues of rounds that are over go, whoever's they were.
  for (const name of Object.keys(localStorage)) {
    if (!name.startsWith("round ")) continue;
    try {
      if (new Date(JSON.parse(localStorage[name]).wipedAt) > now()) continue;
    } catch { /* not ours, or broken: it goes */ }
    localStorage.removeItem(name);
  }

  const queue = () => {
    try {
      return JSON.parse(localStorage.getItem(NAME)).taps;
    } catch {
      return [];
    }
  };
  const keep = (taps) => {
    if (taps.length) localStorage.setItem(NAME, JSON.stringify({ wipedAt, taps }));
    else localStorage.removeItem(NAME);
  };

  const tell = (text, isGood) => {
    told.hidden = !text;
    told.className = isGood ? "told" : "caution";
    told.querySelector("p").textContent = text;
  };
  const mark = () => {
    const taps = queue();
    for (const tap of taps) {
      for (const card of root.querySelectorAll(`[data-stop="${tap.fields.stop}"]`)) {
        card.classList.add("kept");
        for (const form of card.querySelectorAll("form")) form.hidden = true;
        const state = card.querySelector("[data-state]");
        if (state) state.textContent = saidWaiting.split(":")[0];
      }
    }
    // What comes next stands open, even though the page does not know of the tap yet.
    const next = root.querySelector("section.kept[data-stop]");
    if (next) {
      next.hidden = true;
      const after = root.querySelector("li[data-stop]:not(.kept) details");
      if (after) after.open = true;
    }
    tell(taps.length ? `${saidWaiting} ${taps.length}` : refusals(), false);
  };
  const refusals = (more) => {
    const before = sessionStorage.getItem(NAME) || "";
    if (more) sessionStorage.setItem(NAME, `${before} ${more}`.trim());
    else sessionStorage.removeItem(NAME);
    return before;
  };

  let isSending = false;
  const send = async () => {
    if (isSending) return;
    isSending = true;
    let sent = 0;
    try {
      for (let taps = queue(); taps.length; taps = queue()) {
        const answer = await fetch(address, {
          method: "POST",
          body: new URLSearchParams(taps[0].fields),
          headers: { Accept: "application/json" },
          credentials: "same-origin",
        });
        if (answer.status >= 500 || answer.status === 429) break;
        if (!answer.ok) {
          const said = await answer.json().catch(() => ({ refused: String(answer.status) }));
          refusals(`${saidRefused} ${said.refused}`);
        }
        keep(queue().filter((tap) => tap.fields.client_key !== taps[0].fields.client_key));
        sent += 1;
      }
    } catch { /* no network: it stays in the queue */ }
    isSending = false;
    if (sent && !queue().length) {
      tell(saidSent, true);
      location.replace(address);
    } else {
      mark();
    }
  };

  root.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches("form[data-note]")) return;
    event.preventDefault();
    const fields = Object.fromEntries(new FormData(form, event.submitter));
    fields.happened_at = now().toISOString();
    const taps = queue();
    if (!taps.some((tap) => tap.fields.stop === fields.stop)) keep([...taps, { fields }]);
    mark();
    send();
  });
  addEventListener("online", send);
  setInterval(() => queue().length && send(), 20_000);
  mark();
  if (queue().length) send();

  if ("serviceWorker" in navigator) {
    navigator.serviceWorker.register(worker, { scope: address }).then(
      () => navigator.serviceWorker.ready.then((found) => {
        const files = [...document.querySelectorAll("link[rel=stylesheet], link[rel=icon], script[src]")];
        const urls = files.map((each) => each.href || each.src);
        found.active.postMessage({ address, wipedAt, urls });
      }),
      () => { /* a browser that does not want to: the queue works without */ },
    );
  }
})();
