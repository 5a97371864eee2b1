// Line numbers beside a text, with marks where its faults are. The text itself stays a plain field.
for (const box of document.querySelectorAll("[data-numbered]")) {
  const text = box.querySelector("textarea");
  const links = [...document.querySelectorAll("[data-line]")];
  const faulty = new Set(links.map((link) => Number(link.dataset.line)));
  const gutter = document.createElement("div");
  gutter.className = "gutter";
  gutter.setAttribute("aria-hidden", "true");
  box.prepend(gutter);
  let count = 0;
  const number = () => {
    const lines = text.value.split("\n").length;
    if (lines !== count) {
      count = lines;
      gutter.replaceChildren(...Array.from({ length: lines }, (_, k) => {
        const one = document.createElement("div");
        one.textContent = faulty.has(k + 1) ? `▲ ${k + 1}` : String(k + 1);
        if (faulty.has(k + 1)) one.className = "at-fault";
        return one;
      }));
    }
    gutter.scrollTop = text.scrollTop;
  };
  text.addEventListener("input", number);
  text.addEventListener("scroll", () => { gutter.scrollTop = text.scrollTop; });
  const go = (line) => {
    const lines = text.value.split("\n");
    const start = lines.slice(0, line - 1).reduce((sum, one) => sum + one.length + 1, 0);
    text.focus();
    text.setSelectionRange(start, start + (lines[line - 1] || "").length);
    const tall = text.scrollHeight / lines.length;
    text.scrollTop = Math.max(0, (line - 4) * tall);
    number();
  };
  for (const link of links) {
    link.addEventListener("click", (event) => { event.preventDefault(); go(Number(link.dataset.line)); });
  }
  new ResizeObserver(() => { gutter.style.height = `${text.offsetHeight}px`; number(); }).observe(text);
  number();
}
