// Sets marks that survive printing, so that it can be asked on which page something came out:
// at both ends of what must stay on one page, and at headings and what follows them.
// Returns [mark, mark, words] for each pair that must share a page.
(pageHeight) => {
  let count = 0;
  const mark = () => {
    const span = document.createElement("span");
    const name = `ZQ${count++}QZ`;
    span.textContent = name;
    span.style.cssText = "all:initial;position:absolute;font-size:3px;color:#000";
    return [name, span];
  };
  const words = element => element.textContent.trim().replace(/\s+/g, " ").slice(0, 50);
  const visible = element => element.checkVisibility({ visibilityProperty: true });
  const tall = element => element.getBoundingClientRect().height;
  const cells = element =>
    element.tagName === "TR" ? [...element.querySelectorAll("td, th")] : [element];
  const pairs = [];
  const kept = [...document.querySelectorAll("body *")].filter(element => {
    if (element instanceof SVGElement || !visible(element) || !element.firstChild) return false;
    if (tall(element) === 0 || tall(element) > 0.8 * pageHeight) return false;
    if (element.matches("table, thead, tbody, details, dl, [class*=heading]")) return false;
    return element.matches("figure, [class*=caution]") ||
      getComputedStyle(element).breakInside.startsWith("avoid");
  });
  const outer = kept.filter(element => !kept.some(other => other !== element &&
    other.contains(element)));
  const headings = [...document.querySelectorAll("h1, h2, h3, h4")].filter(visible);
  const follows = headings.map(heading => {
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    walker.currentNode = heading;
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      const parent = node.parentElement;
      if (heading.contains(node) || !node.textContent.trim() || !visible(parent)) continue;
      if (parent.closest("script, style, title, desc")) continue;
      return parent.closest("svg") ?? node;
    }
    return null;
  });
  for (const element of outer) {
    const [first, last] = [cells(element)[0], cells(element).at(-1)];
    if (!first || !last) continue;
    const what = words(element);
    const [from, start] = mark();
    const [to, end] = mark();
    first.prepend(start);
    last.append(end);
    pairs.push([from, to, `torn apart: “${what}”`]);
  }
  headings.forEach((heading, at) => {
    if (!follows[at]) return;
    const what = words(heading);
    const [from, start] = mark();
    const [to, end] = mark();
    heading.append(start);
    follows[at].before(end);
    pairs.push([from, to, `heading left alone: “${what}”`]);
  });
  return pairs;
}
