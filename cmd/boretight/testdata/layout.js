// What is wrong with how a page is laid out, in lines; nothing when all is well. It is looked
// at as it stands, without scrolling.
(() => {
  const wrong = [], root = document.documentElement;
  const name = (e) => `${e.localName}${e.id ? "#" + e.id : ""}${e.className && e.className.baseVal === undefined ? "." + e.className : ""} "${e.textContent.replace(/\s+/g, " ").trim().slice(0, 40)}"`;
  if (root.scrollWidth > innerWidth) {
    const widest = [...document.body.querySelectorAll("*")].filter((e) => e.getBoundingClientRect().right > innerWidth + 1).at(-1);
    wrong.push(`the page is ${root.scrollWidth} px wide, the window ${innerWidth}: ${widest && name(widest)}`);
  }

  // What is 1 px wide is for those who listen.
  const hidden = (e) => e.clientWidth === 1 || !e.checkVisibility({ visibilityProperty: true, opacityProperty: true }) || e.closest(".skip, .aloud, dialog:not([open])");
  const scrolls = (e) => { for (; e; e = e.parentElement) if (/auto|scroll/.test(getComputedStyle(e).overflowX)) return true; return false; };
  // A text block is what holds text of its own.
  const blocks = [...document.body.querySelectorAll("*")].filter((e) =>
    !e.closest("svg, select, script, noscript, template") && !hidden(e) && [...e.childNodes].some((n) => n.nodeType === Node.TEXT_NODE && n.data.trim()));

  for (const e of blocks) {
    const style = getComputedStyle(e);
    if (style.display === "inline" || style.textOverflow === "ellipsis" || scrolls(e)) continue;
    if (e.scrollWidth > e.clientWidth + 1 && e.clientWidth) wrong.push(`wider than its room: ${name(e)}`);
    if (/hidden|clip/.test(style.overflowY) && e.scrollHeight > e.clientHeight + 1) wrong.push(`cut at its foot: ${name(e)}`);
  }

  const texts = blocks.flatMap((e) => [...e.childNodes].filter((n) => n.nodeType === Node.TEXT_NODE && n.data.trim()).flatMap((n) => {
    const range = document.createRange();
    range.selectNodeContents(n);
    // The ink of a line is less high than the line.
    return [...range.getClientRects()].map((r) => ({ e, left: r.left + 1, right: r.right - 1, top: r.top + 0.25 * r.height, bottom: r.bottom - 0.25 * r.height }));
  })).filter((r) => r.right > r.left && r.bottom > r.top);
  texts.sort((a, b) => a.top - b.top);
  for (let i = 0; i < texts.length; i++) {
    for (let j = i + 1; j < texts.length && texts[j].top < texts[i].bottom; j++) {
      const a = texts[i], b = texts[j];
      if (a.e !== b.e && a.left < b.right && b.left < a.right && !(scrolls(a.e) || scrolls(b.e))) wrong.push(`one over the other: ${name(a.e)} and ${name(b.e)}`);
    }
  }
  return [...new Set(wrong)].slice(0, 8).join("\n");
})()
