import type { z } from 'zod';
import type { Path } from './located-yaml.ts';

/** The keys that may stand under a path, over all alternatives of the schema. */
export function keysAt(schema: z.core.$ZodType, path: Path): string[] {
  const keys = schemasAt([schema], path).flatMap((at) => {
    const { def } = (at as z.core.$ZodTypes)._zod;
    return def.type === 'object' ? Object.keys(def.shape) : [];
  });
  return [...new Set(keys)];
}

function schemasAt(schemas: readonly z.core.$ZodType[], path: Path): z.core.$ZodType[] {
  const alternatives = schemas.flatMap(alternativesOf);
  const [part, ...rest] = path;
  if (part === undefined) return alternatives;
  return schemasAt(
    alternatives.flatMap((schema) => childrenOf(schema, part)),
    rest,
  );
}

/** A schema without what is wrapped around it, or each of its alternatives. */
function alternativesOf(schema: z.core.$ZodType): z.core.$ZodType[] {
  const { def } = (schema as z.core.$ZodTypes)._zod;
  switch (def.type) {
    case 'union':
      return def.options.flatMap(alternativesOf);
    case 'optional':
    case 'default':
    case 'nullable':
      return alternativesOf(def.innerType);
    case 'pipe':
      return alternativesOf(def.in);
    default:
      return [schema];
  }
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
