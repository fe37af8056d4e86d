/* What a page must hold at the width it is shown in; returns what is wrong, in sentences.
   `least` is the least height and width of a target in the page itself, in CSS px; elsewhere 24.

   Reflow: WCAG 2.2, success criterion 1.4.10. Target size: 2.5.8; links within a sentence are
   excepted there as here. Focus visible: 2.4.7; not hidden by others: 2.4.11. */
(least) => {
  const faults = [];
  const shown = (one) => one.checkVisibility({ visibilityProperty: true }) && !one.closest(".unseen, .skip");
  const named = (one) => {
    const words = (one.getAttribute("aria-label") || one.textContent || one.name || "").trim();
    return `<${one.tagName.toLowerCase()}> “${words.replace(/\s+/g, " ").slice(0, 40)}”`;
  };

  const width = document.documentElement.scrollWidth;
  if (width > innerWidth) {
    const wide = [...document.querySelectorAll("main *")]
      .filter((one) => !one.closest(".wide-table") && one.getBoundingClientRect().right > innerWidth + 1)
      .map(named);
    faults.push(`${width} px wide; beyond the edge: ${wide.slice(0, 3).join(", ")}`);
  }

  const headings = [...document.querySelectorAll("h1")].filter(shown);
  if (headings.length !== 1) faults.push(`${headings.length} headings of the first level`);

  const targets = [...document.querySelectorAll(
    "a[href], button, input:not([type=hidden]), select, textarea, summary")].filter(shown);

  function inSentence(link) {
    if (getComputedStyle(link).display !== "inline") return false;
    let block = link.parentElement;
    while (getComputedStyle(block).display === "inline") block = block.parentElement;
    const beside = document.createTreeWalker(block, NodeFilter.SHOW_TEXT,
      (text) => text.parentElement.closest("a, .unseen") ? NodeFilter.FILTER_REJECT : NodeFilter.FILTER_ACCEPT);
    while (beside.nextNode()) if (/\p{L}/u.test(beside.currentNode.data)) return true;
    return false;
  }

  /* A tick is made by its words as well. */
  function size(one) {
    const boxes = [one, ...(["checkbox", "radio"].includes(one.type) ? one.labels : [])]
      .map((part) => part.getBoundingClientRect());
    return [Math.max(...boxes.map((box) => box.width)), Math.max(...boxes.map((box) => box.height))];
  }

  for (const one of targets) {
    if (one.tagName === "A" && inSentence(one)) continue;
    const wanted = one.closest("main") ? least : 24;
    /* What is pressed or typed into is as high everywhere in the page itself. */
    const pressed = one.closest("main") && (one.tagName !== "A" || one.matches(".do"));
    const [across, high] = size(one);
    /* Half a pixel is rounding. */
    if (across < wanted - 0.5 || high < (pressed ? 48 : wanted) - 0.5) {
      faults.push(`${named(one)} is ${across.toFixed(0)} by ${high.toFixed(0)} px`);
    }
  }

  /* The key was pressed before by the test: what takes the focus now shows it as for a keyboard. */
  const ring = (one) => {
    const parts = [one, ...one.querySelectorAll("*")].map((part) => getComputedStyle(part));
    return parts.some((style) => style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2);
  };
  /* Of what is larger than the screen a part is enough. */
  const within = (value, least, most) => Math.min(Math.max(value, least), most);
  const reached = (one) => [...one.getClientRects()].some((box) => {
    const [left, right] = [box.left, box.right].map((edge) => within(edge, 0, innerWidth - 1));
    const [top, foot] = [box.top, box.bottom].map((edge) => within(edge, 0, innerHeight - 1));
    return [0.1, 0.5, 0.9].some((across) => [0.1, 0.5, 0.9].some((down) => {
      const there = document.elementFromPoint(left + (right - left) * across, top + (foot - top) * down);
      return there && one.contains(there);
    }));
  });
  const began = document.activeElement;
  for (const one of document.querySelectorAll(
    "a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex='0']")) {
    if (!one.checkVisibility({ visibilityProperty: true }) || one.tabIndex < 0 || one.disabled) continue;
    one.focus();
    if (document.activeElement !== one) faults.push(`${named(one)} cannot take the focus`);
    else if (!ring(one)) faults.push(`${named(one)} does not show that it has the focus`);
    else if (!reached(one)) faults.push(`${named(one)} is hidden behind something when it has the focus`);
  }
  if (began && began !== document.body) began.focus();
  return faults;
}
