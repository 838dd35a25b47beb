// One side of the page: whole and close-up, rows over time, and the figures below them.

import { beamAt } from '../../scripts/beam.mjs';
import { around, pressed } from './drawing/frame.mjs';
import { Picture } from './drawing/picture.mjs';
import { Strip } from './drawing/strip.mjs';
import { factsOf } from './player.mjs';
import { digits, duration, moment } from './words.mjs';

const CLOSE = [9, 5], CLOSE_CELL = 0.05;           // mm
const CELLS = 130000;                              // of the whole picture, at most
const INNER = 0.35;                                // share of the close-up that the beam may leave

export class Side {
  constructor(section, data, box, shared) {
    Object.assign(this, { section, data });
    const [stage, close, strip] = section.querySelectorAll('canvas');
    const [x0, y0, x1, y1] = box, { glow, medium } = shared;
    const cell = Math.max(0.1, Math.sqrt((x1 - x0) * (y1 - y0) / CELLS));
    this.stage = new Picture(stage, data, { glow, medium, cell, whole: true });
    this.close = new Picture(close, data, { glow, medium, cell: CLOSE_CELL, whole: false });
    this.strip = new Strip(strip, data.job, shared.longest, glow);
    this.range = section.querySelector('input[type=range]');
    this.range.max = String(data.job.total);
    this.told = section.querySelectorAll('dd');
    keepShape(stage, (x1 - x0) / (y1 - y0));
    keepShape(close, CLOSE[0] / CLOSE[1]);
    this.stage.look(box);
  }

  lookAt(point) {
    this.close.look(around(point, CLOSE));
  }

  // Moves the close-up when the beam leaves its middle, not with each picture: the eye needs rest.
  follow(time) {
    const { x, y } = beamAt(this.data.job, time), [x0, y0, x1, y1] = this.close.box;
    const far = Math.max(Math.abs(2 * x - x0 - x1) / CLOSE[0], Math.abs(2 * y - y0 - y1) / CLOSE[1]);
    if (far > 1 - INNER) this.lookAt([x, y]);
  }

  draw(time, before, { view, ring, follow }) {
    if (follow) this.follow(time);
    this.stage.draw(time, before, view, ring);
    this.close.draw(time, before, view, ring);
    this.strip.draw(time);
    this.tell(time);
  }

  tell(time) {
    const { job } = this.data, { row, length, back } = factsOf(job, time), done = time >= job.total;
    this.range.value = String(Math.min(time, job.total));
    this.range.setAttribute('aria-valuetext', moment(Math.min(time, job.total)));
    const words = [
      done ? `${moment(job.total)}, done` : moment(time),
      row < 0 ? 'a line' : `${row + 1} of ${job.rows}`,
      row < 0 ? '–' : `${digits(length, 1)} mm`,
      duration(back),
    ];
    this.told.forEach((one, n) => {
      if (one.textContent !== words[n]) one.textContent = words[n];
    });
  }

  // Calls back with what is pressed or moved: a place, or a time.
  listen(choose, seek) {
    for (const one of [this.stage, this.close]) {
      one.canvas.addEventListener('click', (event) => choose(pressed(event, one.canvas, one.box)));
    }
    this.range.addEventListener('input', () => seek(+this.range.value));
    this.strip.canvas.addEventListener('pointerdown', (event) => seek(this.strip.pressed(event)));
  }
}

// As wide as there is room, and never taller than 55 % of the window.
function keepShape(canvas, ratio) {
  canvas.style.aspectRatio = String(ratio);
  canvas.style.width = `min(100%, calc(55vh * ${ratio}))`;
}

export function longestRow(jobs) {
  let longest = 0;
  for (const job of jobs) {
    for (let row = 0; row < job.rows; row++) longest = Math.max(longest, job.b[row] - job.a[row]);
  }
  return longest || 1;
}
