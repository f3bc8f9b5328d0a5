"use strict";
// Keeps the band as it is now; state is made by the server alone.
(() => {
  addEventListener("pageshow", (e) => { if (e.persisted) location.reload(); });
  const band = document.getElementById("band");
  if (!band) return;
  const typed = document.getElementById("typed");
  const look = async () => {
    try {
      const r = await fetch("/cars/" + band.dataset.car + "/state", { redirect: "error", signal: AbortSignal.timeout(1000) });
      if (r.status === 401) { location.assign("/"); return; }
      if (!r.ok) throw new Error(r.status);
      const now = await r.json();
      band.textContent = now.band;
      band.className = "band " + now.class;
      const busy = [...document.querySelectorAll("input:not([type=hidden])")].some((i) => i.value !== i.defaultValue);
      if (now.head !== band.dataset.head && !busy) { location.reload(); return; }
    } catch {
      band.textContent = "? NO CONNECTION: this state is not of now";
      band.className = "band careful";
    }
    setTimeout(look, 800);
  };
  if (typed) typed.focus();
  setTimeout(look, 800);
})();
