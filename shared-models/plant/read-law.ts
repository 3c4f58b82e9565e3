import { createLaw } from '../cure/create-law.ts';
import type { LawSpec } from '../cure/law-spec.ts';
import type { Read } from './finding.ts';
import { lawSchema } from './law-schema.ts';
import { type Path, readYaml } from './located-yaml.ts';
import { readShape } from './schema-findings.ts';
import { type Tell, tellingInto } from './tell.ts';

/** A fitted law with its standard errors takes a few kilobytes. */
const mostLength = 256 * 1024;

/** A law file, YAML or JSON: any law that can be computed, a falling one too. */
export function readLaw(text: string, file: string): Read<LawSpec> {
  const yaml = readYaml(text, file, mostLength);
  if (!yaml.ok) return yaml;
  const shape = readShape(yaml.value, lawSchema);
  if (!shape.ok) return shape;
  return tellingInto(yaml.value, shape.value, (tell) => tellLaw(shape.value, [], tell));
}

/** What is wrong within a law, whatever it is for. */
export function tellLaw(law: LawSpec, path: Path, tellOut: Tell): void {
  let told = false;
  const tell: Tell = (...finding) => {
    told = true;
    tellOut(...finding);
  };
  const { validC, floorC, ceilingC } = law;
  if (validC !== undefined && validC[0] >= validC[1]) {
    tell([...path, 'validC'], {
      code: 'contradiction',
      found: `${validC[0]} to ${validC[1]}`,
      expected: 'a least below the greatest',
    });
  }
  if (floorC !== undefined && ceilingC !== undefined && floorC >= ceilingC) {
    tell([...path, 'floorC'], {
      code: 'contradiction',
      found: `floorC ${floorC} and ceilingC ${ceilingC}`,
      expected: 'a floor below the ceiling',
    });
  }
  if ('switch' in law) {
    law.switch.forEach(({ untilAlpha }, index) => {
      const last = index === law.switch.length - 1;
      const before = law.switch[index - 1]?.untilAlpha ?? 0;
      if (last === (untilAlpha !== undefined)) {
        tell([...path, 'switch', index], {
          code: 'contradiction',
          found: last ? 'untilAlpha in the last stage' : 'a stage without untilAlpha',
          expected: 'untilAlpha in every stage but the last',
        });
      } else if (untilAlpha !== undefined && untilAlpha <= before) {
        tell([...path, 'switch', index, 'untilAlpha'], {
          code: 'descending',
          found: `${untilAlpha} after ${before}`,
          expected: 'conversions that rise from stage to stage',
        });
      }
    });
  }
  if (told) return;
  try {
    createLaw(law);
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    tell(path, { code: 'contradiction', found: error.message, expected: 'constants of one law' });
  }
}
