import type { z } from 'zod';
import { ActRefused, type ActRefusal } from './act.ts';

/** An act that cannot be done, by its field. */
export function refused(
  field: string,
  found: string,
  expected: string,
  code = 'bad-input',
  status: ActRefusal['status'] = 422,
): ActRefused {
  return new ActRefused({ status, code, field, found, expected });
}

/** An act's body by its shape. @throws ActRefused */
export function parsed<T>(schema: z.ZodType<T>, body: unknown): T {
  const result = schema.safeParse(body);
  if (result.success) return result.data;
  const [issue] = result.error.issues;
  throw refused(`body.${issue?.path.join('.') ?? ''}`, 'something else', issue?.message ?? '');
}
