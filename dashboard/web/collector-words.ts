import { isMessage, say, sayAny, type Values } from './language.ts';

/** Codes in what the collector says of itself, in the words of this device. */
export function collectorWords(values: Values): Values {
  const { why, what, code, expected, fault } = values;
  return {
    ...values,
    ...(why === undefined ? {} : { why: sayAny(`upkeep.why.${why}`, String(why)) }),
    ...(what === undefined ? {} : { what: sayAny(`upkeep.certificate.${what}`, String(what)) }),
    ...(fault === undefined ? {} : { fault: faultOf(String(fault)) }),
    ...(expected === undefined
      ? {}
      : { expected: expectedOf(`refused.${code}`, String(expected)) }),
  };
}

/** A server's own words stay; that it said nothing is ours to say. */
function faultOf(fault: string): string {
  const silentS = /^no answer within (\d+) s$/.exec(fault)?.[1];
  return silentS === undefined ? fault : say('health.noAnswer', { s: silentS });
}

/** What was expected of an event that was not believed; the ids that it may have named stay as they are. */
function expectedOf(key: string, expected: string): string {
  const [, of = ''] = expected.split(': ');
  return isMessage(key) ? say(key, { of }) : expected;
}
