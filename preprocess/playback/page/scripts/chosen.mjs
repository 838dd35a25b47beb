// The chosen place: its numbers in a sentence for each side, and its two curves.

import { Curve } from './drawing/curve.mjs';
import { storyOf } from './place.mjs';
import { digits, duration } from './words.mjs';

export class Chosen {
  constructor(names, sides, { glow, medium, placing, window, base }) {
    Object.assign(this, { names, sides, medium, placing, window, base, point: null });
    this.stories = [null, null];
    this.figures = [...document.querySelectorAll('#curves figure')];
    this.curves = this.figures.map((one) => 
      new Curve(one.querySelector('canvas'), { top: glow.top, window, base }));
  }

  choose(point, together) {
    this.point = point;
    this.stories = this.sides.map((side, n) =>
      storyOf(side.job, this.medium, this.placing.toSide(n, point), together));
    document.getElementById('told').textContent = this.names.map((name, n) =>
      `${name}: ${this.told(this.stories[n])}`).join(' ');
    this.stories.forEach((story, n) => this.show(n, story));
  }

  show(n, story) {
    const canvas = this.curves[n].canvas, name = this.names[n];
    this.curves[n].show(story);
    canvas.setAttribute('aria-label', story
      ? `${name}: warmth over time, up to ${digits(story.index / this.base, 2)}`
      : `${name}: no curve`);
    this.figures[n].querySelector('figcaption').textContent = story
      ? `${name}: warmth of the place over ${duration(story.to - story.from)}. ` +
        `Rows within 0.5 mm pass it ${timesOver(story.passes)} in this time.`
      : `${name}: nothing is engraved there.`;
  }

  told(story) {
    if (!story) return 'nothing is engraved there.';
    return `index ${digits(story.index / this.base, 2)}${this.judged(story.index)}; the row is ` +
      `${digits(story.length, 1)} mm long, and the beam is back after ${duration(story.back)}.`;
  }

  judged(index) {
    if (!this.window) return '';
    if (index > this.window.heavy) return ', too heavy';
    return index < this.window.weak ? ', too weak' : ', within the window';
  }

  // The hottest moment of each side; of a side that marks nothing there, that of the other.
  moments() {
    const known = this.stories.find(Boolean);
    return this.stories.map((story) => (story ?? known)?.t ?? 0);
  }

  draw(times) {
    this.curves.forEach((curve, n) => curve.draw(times[n]));
  }
}

const timesOver = (count) => (count === 1 ? 'once' : `${count} times`);
