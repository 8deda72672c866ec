// Contrast of texts against a picture of the page from which all letters were taken out.
// Relative luminance and contrast ratio: WCAG 2.2, definitions; sRGB.
async (png, top, texts, wanted) => {
  const image = new Image();
  image.src = "data:image/png;base64," + png;
  await image.decode();
  const canvas = document.createElement("canvas");
  canvas.width = image.width;
  canvas.height = image.height;
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  pen.drawImage(image, 0, 0);
  const probe = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
  // Any colour the style sheet can say, as the browser itself paints it.
  const painted = colour => {
    probe.clearRect(0, 0, 1, 1);
    probe.fillStyle = "#f0f";
    probe.fillStyle = colour;
    probe.fillRect(0, 0, 1, 1);
    const [r, g, b, a] = probe.getImageData(0, 0, 1, 1).data;
    return { rgb: [r, g, b], alpha: a / 255 };
  };
  const linear = c => (c /= 255) <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  const luminance = ([r, g, b]) =>
    0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
  const contrast = (a, b) => (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
  const poor = [];
  let looked = 0;
  for (const text of texts) {
    const ink = painted(text.ink);
    const cover = ink.alpha * text.opacity;
    let bad = 0, all = 0, worst = 21;
    for (const [left, y, width, height] of text.boxes) {
      const x0 = Math.max(0, Math.floor(left)), y0 = Math.max(0, Math.floor(y - top));
      const x1 = Math.min(canvas.width, Math.ceil(left + width));
      const y1 = Math.min(canvas.height, Math.ceil(y - top + height));
      if (x1 <= x0 || y1 <= y0) continue;
      const pixels = pen.getImageData(x0, y0, x1 - x0, y1 - y0).data;
      for (let i = 0; i < pixels.length; i += 4) {
        const ground = [pixels[i], pixels[i + 1], pixels[i + 2]];
        const seen = ground.map((g, k) => g * (1 - cover) + ink.rgb[k] * cover);
        const ratio = contrast(luminance(seen), luminance(ground));
        all += 1;
        if (ratio < wanted) { bad += 1; worst = Math.min(worst, ratio); }
      }
    }
    if (all > 0) looked += 1;
    // A thin line of a drawing may cross a label; a ground that is pale over a fifth of it not.
    if (all > 0 && bad > 0.2 * all) {
      poor.push(`“${text.words}” ${worst.toFixed(2)}:1 (${text.ink})`);
    }
  }
  return { looked, poor };
}
