import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { localTime } from '../export/local-time.ts';
import type { SignedCheckpoint } from '../ledger/shape.ts';
import type { Collected, Part } from '../part.ts';
import { mailer, secretIn } from './mail.ts';
import { plantTimeIn, untilClockMs } from './plant-time.ts';
import { TellError } from './tell-error.ts';
import { checkpointWords } from './words.ts';

const lookEveryMs = 60_000;
/** A server that did not take it is asked again after so long [ms]. */
const againAfterMs = 10 * 60_000;
/** The next day's is never further off, the clocks set back in between [ms]. */
const mostWaitMs = 25 * 3_600_000;

/**
 * Once a day the newest checkpoint goes to somebody outside by mail: who holds one knows when the log
 * behind it was changed, even if everything of this box was.
 */
export class CheckpointMail implements Part {
  readonly #collected: Collected;
  /** When it went out last [ms]; losing it sends one more. */
  readonly #file: string;
  #dueMs = Infinity;
  #cancel: (() => void) | null = null;

  constructor(collected: Collected) {
    this.#collected = collected;
    this.#file = join(collected.dataDir, 'checkpoint-mail.json');
  }

  start(): void {
    if (!this.#collected.plant.tell?.checkpoint) return;
    this.#dueMs = this.#nextMs(sentMs(this.#file) ?? this.#collected.clock.nowMs());
    this.#again();
  }

  stop(): void {
    this.#cancel?.();
    this.#cancel = null;
  }

  #again(): void {
    const { clock, clockSetting } = this.#collected;
    this.#cancel = clock.after(lookEveryMs * clockSetting.rate, () => {
      this.#again();
      const nowMs = clock.nowMs();
      // The clock was ahead when that was said.
      if (this.#dueMs > nowMs + mostWaitMs) this.#dueMs = this.#nextMs(nowMs);
      if (nowMs >= this.#dueMs) void this.#send(nowMs);
    });
  }

  #nextMs(fromMs: number): number {
    const { plant } = this.#collected;
    const time = plantTimeIn(plant.site.timeZone)(fromMs);
    return fromMs + untilClockMs(plant.tell?.checkpoint?.at ?? '06:00', time);
  }

  async #send(nowMs: number): Promise<void> {
    const { ledger, plant, log } = this.#collected;
    const { checkpoint: wanted, mail: server } = plant.tell ?? {};
    const checkpoint: SignedCheckpoint | null = ledger.checkpoint();
    if (!wanted || !checkpoint) return;
    // Nothing is sent twice while the server is slow.
    this.#dueMs = nowMs + againAfterMs;
    try {
      if (!server) throw new TellError('plant.yaml names no mail server', false);
      const { title, timeZone } = plant.site;
      const at = localTime(checkpoint.atMs, timeZone);
      const words = checkpointWords(checkpoint, title, at, wanted.language);
      await mailer(server, secretIn(server.passwordFile))({ to: wanted.to, ...words });
      this.#dueMs = this.#nextMs(nowMs);
      writeFileSync(this.#file, JSON.stringify({ sentMs: nowMs }));
    } catch (error) {
      log(`checkpoint: the mail was not sent: ${String(error)}`);
    }
  }
}

function sentMs(file: string): number | null {
  try {
    const { sentMs: ms } = JSON.parse(readFileSync(file, 'utf8')) as { sentMs?: unknown };
    return typeof ms === 'number' ? ms : null;
  } catch {
    return null;
  }
}
