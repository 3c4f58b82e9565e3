/** A hand warms a probe by more than this within a minute, and nothing else does [K]. */
const MOVED_K = 1.5;

/** The one that is warmed moves so many times more than the next. */
const CLEARLY = 2;

export interface Moved {
  point: string;
  /** Since the search began [K]; negative: it falls. */
  changeK: number;
}

/** What warming one probe by hand has shown. */
export type FindIt =
  /** It moves, up, and no other does. */
  | { kind: 'itself'; changeK: number }
  /** It moves the wrong way: its two wires are the wrong way round. */
  | { kind: 'reversed'; changeK: number }
  /** Another one moves: the wire ends there. */
  | { kind: 'other'; point: string; changeK: number }
  /** Two move alike: wait, or one wire is on two points. */
  | { kind: 'several'; points: string[] }
  | { kind: 'nothing' };

/** How far each point has gone since the search began, the farthest first. */
export function movedSince(
  before: ReadonlyMap<string, number>,
  now: ReadonlyMap<string, number>,
): Moved[] {
  const moved = [...now].flatMap(([point, c]) => {
    const was = before.get(point);
    return was === undefined ? [] : [{ point, changeK: c - was }];
  });
  return moved.sort((a, b) => Math.abs(b.changeK) - Math.abs(a.changeK));
}

/**
 * Which sensor it is that somebody is warming by hand.
 *
 * @param asked the point whose probe is held
 * @param moved of `movedSince`
 */
export function findIt(asked: string, moved: readonly Moved[]): FindIt {
  const [first, second] = moved;
  if (first === undefined || Math.abs(first.changeK) < MOVED_K) return { kind: 'nothing' };
  if (second !== undefined && Math.abs(first.changeK) < CLEARLY * Math.abs(second.changeK)) {
    const alike = moved.filter(
      ({ changeK }) => CLEARLY * Math.abs(changeK) > Math.abs(first.changeK),
    );
    return { kind: 'several', points: alike.map(({ point }) => point) };
  }
  const { point, changeK } = first;
  if (point !== asked) return { kind: 'other', point, changeK };
  return changeK > 0 ? { kind: 'itself', changeK } : { kind: 'reversed', changeK };
}
