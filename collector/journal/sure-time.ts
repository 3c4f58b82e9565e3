import type { Collected } from '../part.ts';

/** A clock that was set ahead must not make old what has just come in: the devices must say so too [ms]. */
export function surelyMs({ clock, pointsNow }: Pick<Collected, 'clock' | 'pointsNow'>): number {
  const newestMs = Math.max(0, ...pointsNow().map(({ last }) => last?.t ?? 0));
  return Math.min(clock.nowMs(), newestMs);
}
