// Rows done so far, as strokes of one pitch, and the beam with the rows it passed just now.

import { beamAt, lowest, place } from '../../../scripts/beam.mjs';

const TRAIL = 60;                       // rows at most that the eye is shown at once
const RUNS_AT_ONCE = 256;                      // runs to a path: longer ones take long to stroke

// Each row is drawn once, on a canvas of its own, until the window changes or time runs back.
export class Swept {
  constructor(job, frame) {
    Object.assign(this, { job, frame, row: 0, line: 0, until: 0, ...frame.sheet() });
    this.pen.strokeStyle = '#39414c';
  }

  at(time) {
    const { job, pen, frame } = this;
    if (time < this.until) {
      pen.clearRect(frame.box[0], frame.box[1], frame.wide, frame.high);
      this.row = this.line = 0;
    }
    this.until = time;
    this.drawRows(time);
    this.drawLines(time);
    return this.canvas;
  }

  drawRows(time) {
    const { job, pen, frame } = this;
    let visit = -1, count = 0;
    pen.beginPath();
    for (; this.row < job.rows && job.ends[this.row] <= time; this.row++) {
      if (job.visit[this.row] !== visit || count > RUNS_AT_ONCE) {
        pen.stroke();
        pen.beginPath();
        visit = job.visit[this.row];
        count = 0;
        pen.lineWidth = 1.02 * job.visits[visit].pitch;
      }
      count += traceRow(pen, job, this.row, frame);
    }
    pen.stroke();
  }

  drawLines(time) {
    const { pen, frame } = this, { lines } = this.job;
    pen.lineWidth = 2 * frame.density / frame.scale;
    for (; this.line < lines.count && lines.ends[this.line] <= time; this.line++) {
      pen.beginPath();
      for (let i = lines.first[this.line]; i < lines.first[this.line + 1]; i++) {
        pen.lineTo(lines.x[i], lines.y[i]);
      }
      pen.stroke();
    }
  }
}

function traceRow(pen, job, row, frame) {
  if (!frame.shows(place(job, row, job.a[row]), place(job, row, job.b[row]))) return 0;
  for (let run = job.first[row]; run < job.first[row + 1]; run++) {
    pen.moveTo(...place(job, row, job.p[run]));
    pen.lineTo(...place(job, row, job.q[run]));
  }
  return job.first[row + 1] - job.first[row];
}

// The beam, and where it has been since the last picture: without them fast rows seem to jump.
export function drawBeam(pen, job, frame, time, before) {
  if (time >= job.total) return;
  const beam = beamAt(job, time);
  if (beam.row >= 0) drawTrail(pen, job, frame, Math.max(lowest(job.t, before), beam.row - TRAIL), beam.row);
  pen.fillStyle = '#fff';
  pen.beginPath();
  pen.arc(...frame.pixel([beam.x, beam.y]), (frame.whole ? 2.6 : 4) * frame.density, 0, 7);
  pen.fill();
}

function drawTrail(pen, job, frame, from, to) {
  pen.strokeStyle = 'rgb(255 255 255 / .35)';
  pen.lineWidth = frame.density;
  pen.beginPath();
  for (let row = from; row <= to; row++) {
    pen.moveTo(...frame.pixel(place(job, row, job.a[row])));
    pen.lineTo(...frame.pixel(place(job, row, job.b[row])));
  }
  pen.stroke();
}
