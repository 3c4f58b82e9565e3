import { sayAny, type Values } from './language.ts';

/** Codes in what the collector says of itself, in the words of this device. */
export function collectorWords(values: Values): Values {
  const { why, what } = values;
  return {
    ...values,
    ...(why === undefined ? {} : { why: sayAny(`upkeep.why.${why}`, String(why)) }),
    ...(what === undefined ? {} : { what: sayAny(`upkeep.certificate.${what}`, String(what)) }),
  };
}
