// Colours of warmth. The ramp comes with the page; its lightness rises all the way, so that grey
// prints and all eyes read it: the brighter, the hotter.

export function glowOf(hex, top) {
  const names = hex.match(/.{6}/g).map((one) => `#${one}`);
  const pixels = Uint32Array.from(names, (name) => {
    const rgb = parseInt(name.slice(1), 16);
    return (0xff000000 | (rgb & 0xff) << 16 | (rgb & 0xff00) | rgb >> 16) >>> 0;
  });
  const step = (warmth) => Math.min(255, Math.max(0, Math.round(255 * warmth / top)));
  return { top, pixels, css: (warmth) => names[step(warmth)] };
}
