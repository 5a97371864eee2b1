// Small islands: theme, job progress, row jump. Everything works without them.
"use strict";
(() => {
  const key = "takeup-theme";
  const root = document.documentElement;
  const saved = localStorage.getItem(key);
  if (saved) root.dataset.theme = saved;
  const button = document.querySelector("[data-theme-switch]");
  if (button) {
    button.hidden = false;
    button.addEventListener("click", () => {
      const dark = getComputedStyle(root).getPropertyValue("--dark").trim() === "1";
      root.dataset.theme = dark ? "light" : "dark";
      localStorage.setItem(key, root.dataset.theme);
    });
  }
  addEventListener("beforeprint", () => document.querySelectorAll("details").forEach((d) => { d.open = true; }));
  const decides = document.querySelector("select[data-decides]");
  if (decides) {
    const parts = document.querySelectorAll("[data-when]");
    const fit = () => parts.forEach((part) => { part.hidden = !part.dataset.when.split("|").includes(decides.value); });
    decides.addEventListener("change", fit);
    fit();
  }
  const job = document.querySelector("[data-job]");
  if (job) {
    const bar = job.querySelector("progress");
    const words = job.querySelector("[data-words]");
    const source = new EventSource(`/jobs/${job.dataset.job}/events`);
    source.onmessage = (message) => {
      const { share, text, state } = JSON.parse(message.data);
      bar.value = share;
      words.textContent = text;
      if (state !== "running") {
        source.close();
        if (state === "done") location.assign(job.dataset.then);
        else location.reload();
      }
    };
    source.onerror = () => { source.close(); setTimeout(() => location.reload(), 2000); };
  }
})();
