import { lawContradictions } from '../cure/law-contradictions.ts';
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
export function tellLaw(law: LawSpec, path: Path, tell: Tell): void {
  for (const { path: within, ...details } of lawContradictions(law)) {
    tell([...path, ...within], details);
  }
}
