// Numbers as people read them.

export const digits = (value, decimals) => value.toFixed(decimals).replace('-', '−');

export function duration(seconds) {
  if (!Number.isFinite(seconds)) return '–';
  if (seconds < 0.1) return `${digits(1000 * seconds, 1)} ms`;
  if (seconds < 1) return `${digits(1000 * seconds, 0)} ms`;
  if (seconds < 60) return `${digits(seconds, 1)} s`;
  return `${Math.floor(seconds / 60)} min ${digits(seconds % 60, 0)} s`;
}

export function moment(seconds) {
  if (seconds < 60) return `${digits(seconds, 2)} s`;
  return `${Math.floor(seconds / 60)} min ${digits(seconds % 60, 1)} s`;
}

export function rate(speed) {
  if (speed === 1) return 'real time';
  return speed < 1 ? `1/${Math.round(1 / speed)} of real time` : `${speed} × real time`;
}
