// Time: what the clock shows on both sides, and how it runs. Nothing starts by itself.

import { beamAt, lowest } from '../../scripts/beam.mjs';
import { returnAfter } from './place.mjs';

export const SPEEDS = [1 / 100, 1 / 30, 1 / 10, 1 / 3, 1, 3, 10, 30, 100, 300, 1000];
const PICTURES = 30;                    // a second at most: enough, and half the work of 60
const LONGEST = 0.1;                    // s between pictures that time may leap, if they are late
const REST = 1.5, BEFORE = 0.5, AFTER = 0.5;     // s shown after a job, and around a place's peak

export class Player {
  constructor(jobs, changed) {
    Object.assign(this, { jobs, changed, speed: 1, playing: '' });
    this.ends = jobs.map((job) => job.total + REST);
    this.t = jobs.map(() => 0);
    this.was = jobs.map(() => 0);       // the moment of the picture before
    this.until = this.ends;
  }

  // The whole job, both sides from their first row; goes on where it was paused.
  playAll() {
    if (this.playing === 'all') return this.pause();
    if (!this.paused || this.atEnd(this.ends)) this.jump(this.jobs.map(() => 0));
    this.until = this.ends;
    return this.start('all');
  }

  // One place: both sides begin as long before their own hottest moment, and run equally fast.
  playPlace(moments) {
    if (this.playing === 'place') return this.pause();
    this.jump(moments.map((t) => Math.max(0, t - BEFORE)));
    this.until = moments.map((t) => t + AFTER);
    return this.start('place');
  }

  start(what) {
    this.playing = what;
    this.last = performance.now();
    this.due = 0;
    this.changed();
    requestAnimationFrame((now) => this.tick(now));
  }

  pause() {
    if (!this.playing) return;
    this.paused = this.playing === 'all';
    this.playing = '';
    this.changed();
  }

  tick(now) {
    if (!this.playing) return;
    requestAnimationFrame((later) => this.tick(later));
    if (now < this.due) return;
    const step = Math.min(Math.max(0, now - this.last) / 1000, LONGEST) * this.speed;
    this.last = now;
    this.due = now + 1000 / PICTURES - 4;
    this.was = this.t;
    this.t = this.t.map((t, n) => Math.min(t + step, this.until[n]));
    if (this.atEnd(this.until)) this.pause();
    else this.changed();
  }

  atEnd(ends) {
    return this.t.every((t, n) => t >= ends[n] - 1e-9);
  }

  jump(times) {
    this.paused = false;
    this.t = times.map((t, n) => Math.min(Math.max(0, t), this.ends[n]));
    this.was = this.t;
  }

  seek(side, time) {
    this.pause();
    this.paused = true;
    this.t = this.t.map((t, n) => (n === side ? Math.min(Math.max(0, time), this.ends[n]) : t));
    this.was = this.t;
    this.changed();
  }

  // To the end of the row before, or of the next one, on both sides.
  stepRow(by) {
    this.pause();
    this.paused = true;
    this.was = this.t;
    this.t = this.jobs.map((job, n) => {
      const row = Math.min(job.rows - 1, Math.max(0, rowAt(job, this.t[n]) + by));
      return row < 0 ? this.t[n] : job.ends[row];
    });
    if (by < 0) this.was = this.t;
    this.changed();
  }
}

function rowAt(job, time) {
  return Math.max(0, lowest(job.t, time + 1e-12) - 1);
}

// What is told below the pictures of a side; row is -1 while the beam traces a line.
export function factsOf(job, time) {
  const { row } = beamAt(job, time);
  if (row < 0) return { row, length: 0, back: NaN };
  return { row, length: job.b[row] - job.a[row], back: returnAfter(job, row) };
}
