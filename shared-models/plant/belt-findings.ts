import type { Path } from './located-yaml.ts';
import type { StationFile } from './plant-schema.ts';
import type { Tell } from './tell.ts';

/** What is wrong with the belt of a conveyor oven, and with metres where there is none. */
export function tellBelt(
  { kind, beltSpeed, zones = [] }: StationFile,
  path: Path,
  tell: Tell,
): void {
  if (beltSpeed !== undefined && kind !== 'oven') {
    tell([...path, 'beltSpeed'], {
      code: 'contradiction',
      found: `beltSpeed at a ${kind}`,
      expected: 'an oven',
    });
    return;
  }
  let reachedM = 0;
  zones.forEach(({ id, fromM, toM, opening }, index) => {
    const at = [...path, 'zones', index];
    if (beltSpeed === undefined) {
      if (fromM === undefined && toM === undefined) return;
      tell(at, {
        code: 'contradiction',
        found: `zone ${id} with metres, at a station without beltSpeed`,
        expected: 'beltSpeed: the point of the belt’s speed',
      });
    } else if (fromM === undefined || toM === undefined) {
      tell(at, {
        code: 'missing-key',
        found: `zone ${id} without ${fromM === undefined ? 'fromM' : 'toM'}`,
        expected: 'fromM and toM: where on the belt the zone is',
      });
    } else if (opening !== undefined) {
      tell([...at, 'opening'], {
        code: 'contradiction',
        found: `opening ${opening} on a belt`,
        expected: 'no opening: a belt has one way through its zones',
      });
    } else if (fromM >= toM || fromM < reachedM) {
      tell(at, {
        code: 'contradiction',
        found: `zone ${id} from ${fromM} to ${toM} m, after ${reachedM} m`,
        expected: 'zones in the order they are met, each from less to more',
      });
    } else {
      reachedM = toM;
    }
  });
}
