/**
 * @typedef {object} Step
 * @property {string} title
 * @property {string} usually how long it usually takes, said before it runs
 * @property {number} usuallyS the same in seconds; 0: it does not matter
 * @property {boolean} late it takes much longer than that
 * @property {'waiting' | 'running' | 'done' | 'failed'} state
 * @property {string} detail what it does or found
 * @property {number} done parts done, of `total`; 0 of 0 where it cannot be counted
 * @property {number} total
 * @property {number | null} startedMs
 * @property {number | null} endedMs
 */

const barWidth = 20;
/** From so many times the usual on whoever waits is told that it goes on. */
const lateFrom = 2;
const lateWords = 'longer than usual; it goes on';

/** What set-up does, for a terminal and for the waiting page alike. */
export class Steps {
  /**
   * @param {{ write(text: string): unknown, isTTY?: boolean }} out
   * @param {() => number} nowMs
   */
  constructor(out, nowMs = Date.now) {
    this.out = out;
    this.nowMs = nowMs;
    /** @type {Step[]} */
    this.list = [];
    /** Set once set-up has failed: the waiting page shows it. @type {string | null} */
    this.failure = null;
  }

  /**
   * Announces all steps before the first one runs, so that numbers and minutes are honest.
   *
   * @param {{ title: string, usually: string, usuallyS?: number }[]} plan
   */
  announce(plan) {
    this.list = plan.map(({ title, usually, usuallyS = 0 }) => ({
      title,
      usually,
      usuallyS,
      late: false,
      state: 'waiting',
      detail: '',
      done: 0,
      total: 0,
      startedMs: null,
      endedMs: null,
    }));
  }

  /**
   * Runs one announced step and shows how it goes.
   *
   * @template T
   * @param {string} title
   * @param {(say: (detail: string, done?: number, total?: number) => void) => Promise<T> | T} run
   * @returns {Promise<T>}
   */
  async run(title, run) {
    const step = this.list.find((one) => one.title === title);
    if (!step) throw new Error(`no step is called ${title}`);
    step.state = 'running';
    step.startedMs = this.nowMs();
    step.detail = step.usually;
    this.#show(step);
    const ticking = setInterval(() => this.#tick(step), 500);
    try {
      const result = await run((detail, done = 0, total = 0) => {
        Object.assign(step, { detail, done, total });
        this.#redraw(step);
      });
      step.state = 'done';
      return result;
    } catch (error) {
      step.state = 'failed';
      throw error;
    } finally {
      clearInterval(ticking);
      step.endedMs = this.nowMs();
      this.#end(step);
    }
  }

  /** @param {Step} step */
  #tick(step) {
    const isLate = step.usuallyS > 0 && this.#ranS(step) > lateFrom * step.usuallyS;
    if (isLate && !step.late) {
      step.late = true;
      if (!this.out.isTTY) this.out.write(`${this.#line(step)}\n`);
    }
    this.#redraw(step);
  }

  /** @param {Step} step */
  #ranS(step) {
    return ((step.endedMs ?? this.nowMs()) - (step.startedMs ?? this.nowMs())) / 1000;
  }

  /** @param {Step} step */
  #line(step) {
    const place = `[${this.list.indexOf(step) + 1}/${this.list.length}]`;
    const filled = step.total > 0 ? Math.round((step.done / step.total) * barWidth) : 0;
    const bar =
      step.total > 0 && step.state === 'running'
        ? `${'▇'.repeat(filled)}${'·'.repeat(barWidth - filled)}  ${step.done} of ${step.total}`
        : step.detail;
    const ranS = this.#ranS(step);
    const clock = `${Math.floor(ranS / 60)}:${String(Math.floor(ranS % 60)).padStart(2, '0')}`;
    const ends = { done: 'ok', failed: 'failed', waiting: '', running: step.late ? lateWords : '' };
    const end = ends[step.state];
    return `  ${place} ${step.title.padEnd(18)} ${bar.padEnd(44)} ${clock}  ${end}`.trimEnd();
  }

  /** @param {Step} step */
  #show(step) {
    if (!this.out.isTTY) this.out.write(`${this.#line(step)}\n`);
    else this.#redraw(step);
  }

  /** Only a terminal is drawn over; a log gets one line at the start and one at the end. @param {Step} step */
  #redraw(step) {
    if (this.out.isTTY && step.state === 'running') this.out.write(`\r\x1b[2K${this.#line(step)}`);
  }

  /** @param {Step} step */
  #end(step) {
    this.out.write(`${this.out.isTTY ? '\r\x1b[2K' : ''}${this.#line(step)}\n`);
  }
}
