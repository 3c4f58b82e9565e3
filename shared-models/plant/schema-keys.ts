import type { z } from 'zod';
import { type Path, valueAt } from './located-yaml.ts';

/**
 * The keys that may stand under a path, over all alternatives of the schema that the value leaves.
 *
 * @param value the whole document
 */
export function keysAt(schema: z.core.$ZodType, path: Path, value: unknown): string[] {
  const keys = schemasAt([schema], path, value).flatMap((at) => {
    const { def } = (at as z.core.$ZodTypes)._zod;
    return def.type === 'object' ? Object.keys(def.shape) : [];
  });
  return [...new Set(keys)];
}

function schemasAt(
  schemas: readonly z.core.$ZodType[],
  path: Path,
  value: unknown,
): z.core.$ZodType[] {
  const alternatives = schemas.flatMap((schema) => alternativesOf(schema, value));
  const [part, ...rest] = path;
  if (part === undefined) return alternatives;
  return schemasAt(
    alternatives.flatMap((schema) => childrenOf(schema, part)),
    rest,
    valueAt(value, [part]),
  );
}

/** A schema without what is wrapped around it, or each of its alternatives. */
function alternativesOf(schema: z.core.$ZodType, value: unknown): z.core.$ZodType[] {
  const { def } = (schema as z.core.$ZodTypes)._zod;
  switch (def.type) {
    case 'union':
      return chosenOptions(def, value).flatMap((option) => alternativesOf(option, value));
    case 'optional':
    case 'default':
    case 'nullable':
      return alternativesOf(def.innerType, value);
    case 'pipe':
      return alternativesOf(def.in, value);
    default:
      return [schema];
  }
}

/** Of a union told apart by one key, the option whose key has the value's; of others, all. */
function chosenOptions(def: z.core.$ZodUnionDef, value: unknown): readonly z.core.$ZodType[] {
  if (!('discriminator' in def)) return def.options;
  const key = String(def.discriminator);
  const chosen = def.options.filter((option) =>
    option._zod.propValues?.[key]?.has(valueAt(value, [key]) as z.core.util.Primitive),
  );
  return chosen.length > 0 ? chosen : def.options;
}

function childrenOf(schema: z.core.$ZodType, part: string | number): z.core.$ZodType[] {
  const { def } = (schema as z.core.$ZodTypes)._zod;
  switch (def.type) {
    case 'object': {
      const child = def.shape[String(part)];
      return child === undefined ? [] : [child];
    }
    case 'array':
      return [def.element];
    case 'tuple': {
      const child = def.items[Number(part)];
      return child === undefined ? [] : [child];
    }
    case 'record':
      return [def.valueType];
    default:
      return [];
  }
}
