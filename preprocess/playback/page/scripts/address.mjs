// What a page keeps when a newer one takes its place: place, speed, view and time, in its address.
// A page in a frame tells the page around it, which gives it to the next one.

export function keptState(hash) {
  const found = new URLSearchParams(hash.replace(/^#/, ''));
  const numbers = (name) => {
    const list = (found.get(name) ?? '').split(',').map(Number);
    return found.has(name) && list.length === 2 && list.every(Number.isFinite) ? list : null;
  };
  const speed = Number(found.get('speed'));
  return {
    place: numbers('place'),
    t: numbers('t'),
    view: found.get('view') === 'most' ? 'most' : 'now',
    speed: Number.isFinite(speed) && speed > 0 ? speed : null,
    follow: found.get('follow') === 'yes',
  };
}

export function hashOf({ place, t, view, speed, follow }) {
  const numbers = (list, decimals) => list.map((one) => +one.toFixed(decimals)).join(',');
  const kept = [
    place && `place=${numbers(place, 2)}`,
    `t=${numbers(t, 4)}`,
    `view=${view}`,
    `speed=${+speed.toPrecision(3)}`,
    follow && 'follow=yes',
  ];
  return `#${kept.filter(Boolean).join('&')}`;
}

// Nothing secret is told, and the page around may be of any origin.
export function tellAround(message) {
  if (parent !== window) parent.postMessage(message, '*');
}
