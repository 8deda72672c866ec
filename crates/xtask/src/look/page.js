// Asked of an open page; everything it returns is plain data. Lengths in CSS pixels.
(() => {
  // What is folded away, hidden or fully transparent is not read by anyone.
  const shown = element =>
    element.checkVisibility({ visibilityProperty: true, opacityProperty: true });
  // How much the drawing around a text shrinks or grows it on the screen.
  const scale = element => {
    if (!(element instanceof SVGElement) || !element.getScreenCTM) return 1;
    const m = element.getScreenCTM();
    return m ? Math.sqrt(Math.abs(m.a * m.d - m.b * m.c)) : 1;
  };
  const opacity = element => {
    let product = 1;
    for (let e = element; e; e = e.parentElement) product *= Number(getComputedStyle(e).opacity);
    return product;
  };
  // Words outside the page, outside their drawing, or outside a box that hides or scrolls what
  // runs over.
  const cut = (element, boxes) => {
    let left = 0, right = document.documentElement.clientWidth, top = -Infinity, bottom = Infinity;
    for (let e = element; e && e !== document.body; e = e.parentElement) {
      const drawing = e.tagName === "svg";
      if (e instanceof SVGElement && !drawing) continue;
      const { overflowX, display } = getComputedStyle(e);
      if (overflowX === "visible" || (display === "inline" && !drawing)) continue;
      const box = e.getBoundingClientRect();
      left = Math.max(left, box.left + scrollX);
      right = Math.min(right, box.right + scrollX);
      if (drawing) [top, bottom] = [box.top + scrollY, box.bottom + scrollY];
    }
    return boxes.some(([x, y, width, height]) =>
      x < left - 1 || x + width > right + 1 || y < top - 1 || y + height > bottom + 1);
  };
  const texts = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const words = node.textContent.trim();
    const element = node.parentElement;
    if (!words || !element || element.closest("script, style, title, desc")) continue;
    if (!shown(element)) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    const boxes = [...range.getClientRects()]
      .filter(box => box.width > 1 && box.height > 1)
      .map(box => [box.left + scrollX, box.top + scrollY, box.width, box.height]);
    if (boxes.length === 0) continue;
    const style = getComputedStyle(element);
    const ink = element instanceof SVGElement ? style.fill : style.color;
    texts.push({
      words: words.slice(0, 40), all: words, cut: cut(element, boxes),
      size: parseFloat(style.fontSize) * scale(element),
      ink, opacity: opacity(element), boxes,
    });
  }
  const drawings = [...document.querySelectorAll("svg")].filter(svg =>
    shown(svg) && !svg.closest("[aria-hidden=true]") && svg.getBoundingClientRect().width > 0);
  const label = svg => svg.outerHTML.slice(0, 60).replace(/\s+/g, " ");
  const kept = svg => {
    for (let e = svg; e && e !== document.body; e = e.parentElement) {
      if (getComputedStyle(e).breakInside.startsWith("avoid")) return true;
    }
    return false;
  };
  const top = document.documentElement;
  const wide = [...document.body.querySelectorAll("*")]
    .filter(e => e.getBoundingClientRect().right + scrollX > top.clientWidth + 1)
    .slice(0, 3).map(e => e.outerHTML.slice(0, 60).replace(/\s+/g, " "));
  return {
    width: top.clientWidth, scroll: Math.max(top.scrollWidth, document.body.scrollWidth),
    height: Math.max(top.scrollHeight, document.body.scrollHeight),
    title: document.title, language: top.lang, texts, wide,
    unnamed: drawings.filter(svg => !svg.getAttribute("aria-label") &&
      !svg.getAttribute("aria-labelledby") && !svg.querySelector(":scope > title")).map(label),
    split: drawings.filter(svg => svg.getBoundingClientRect().height > 60 && !kept(svg)).map(label),
  };
})()
