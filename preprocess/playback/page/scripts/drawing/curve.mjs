// The warmth of one place over time, with the filament's window drawn in.

import { duration } from '../words.mjs';

const TICKS = [1e-3, 2e-3, 5e-3, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50];
const LABELS = '#444', CURVE = '#8c1d18', NOW = '#0072b2', PALE = '#d5d5d5', WINDOW = '#e6eef5';

export class Curve {
  constructor(canvas, { top, window, base }) {
    Object.assign(this, { canvas, top, window, base, story: null });
  }

  show(story) {
    this.story = story;
    this.sheet = null;
  }

  draw(time) {
    const { canvas, story } = this;
    if (!this.sheet || this.width !== canvas.clientWidth) this.paint();
    const pen = canvas.getContext('2d');
    pen.drawImage(this.sheet, 0, 0);
    if (!story || time < story.from || time > story.to) return;
    pen.fillStyle = NOW;
    pen.fillRect(this.x(time) - this.one, this.high, 2 * this.one, this.low - this.high);
  }

  paint() {
    const { canvas } = this, one = this.one = Math.min(devicePixelRatio || 1, 2);
    this.width = canvas.clientWidth;
    canvas.width = Math.max(1, Math.round(this.width * one));
    canvas.height = Math.max(1, Math.round(canvas.clientHeight * one));
    this.sheet = new OffscreenCanvas(canvas.width, canvas.height);
    Object.assign(this, {
      left: 40 * one, right: canvas.width - 8 * one, high: 8 * one, low: canvas.height - 24 * one,
    });
    const pen = this.sheet.getContext('2d');
    pen.fillStyle = '#fff';
    pen.fillRect(0, 0, canvas.width, canvas.height);
    pen.font = `${12 * one}px Helvetica, Arial, sans-serif`;
    this.paintIndex(pen);
    if (!this.story) return;
    this.paintTimes(pen);
    this.paintWarmth(pen);
  }

  y(warmth) {
    return this.low - warmth / this.top * (this.low - this.high);
  }

  x(time) {
    const { from, to } = this.story;
    return this.left + (time - from) / (to - from) * (this.right - this.left);
  }

  paintIndex(pen) {
    const { one, left, right } = this, { weak, heavy } = this.window ?? {}, wide = right - left;
    pen.textBaseline = 'middle';
    if (this.window) {
      pen.fillStyle = WINDOW;
      pen.fillRect(left, this.y(heavy), wide, this.y(weak) - this.y(heavy));
    }
    const plain = [0, 0.5, 1, 1.5, 2, 2.5, 3].filter((mark) => mark * this.base < this.top);
    const marks = this.window ? [0, 0.5, weak, heavy] : plain.map((mark) => mark * this.base);
    for (const mark of marks) {
      const limit = mark === weak || mark === heavy;
      pen.textAlign = 'right';
      pen.fillStyle = LABELS;
      pen.fillText(String(+(mark / this.base).toPrecision(3)), left - 5 * one, this.y(mark));
      pen.fillStyle = limit ? '#1c1c1c' : PALE;
      pen.fillRect(left, this.y(mark), wide, limit ? one : 0.6 * one);
    }
    if (!this.window) return;
    pen.textAlign = 'left';
    pen.fillStyle = LABELS;
    pen.fillText('even', left + 6 * one, this.y((weak + heavy) / 2));
    pen.fillText('too heavy', left + 6 * one, this.y(heavy) - 9 * one);
  }

  paintTimes(pen) {
    const { story, one, left, right, low } = this, span = story.to - story.from;
    const step = TICKS.find((some) => span / some < (right - left) / (75 * one)) ?? span / 3;
    pen.textAlign = 'center';
    pen.fillStyle = LABELS;
    const from = Math.ceil((story.from - story.t) / step), to = (story.to - story.t) / step;
    for (let k = from; k <= to; k++) {
      const x = this.x(story.t + k * step);
      pen.fillRect(x, low, one, 4 * one);
      if (x < left + 18 * one || x > right - 20 * one) continue;
      pen.fillText(k ? `${k > 0 ? '+' : '−'}${short(step * Math.abs(k))}` : 'hottest', x, low + 14 * one);
    }
  }

  paintWarmth(pen) {
    const { times, warm } = this.story;
    pen.beginPath();
    times.forEach((t, k) => pen[k ? 'lineTo' : 'moveTo'](this.x(t), this.y(warm[k])));
    Object.assign(pen, { lineWidth: 1.5 * this.one, strokeStyle: CURVE, lineJoin: 'round' });
    pen.stroke();
  }
}

function short(seconds) {
  if (seconds < 0.0995) return `${+(1000 * seconds).toFixed(1)} ms`;
  return seconds < 1 ? `${+seconds.toFixed(2)} s` : duration(seconds).replace('.0 s', ' s');
}
