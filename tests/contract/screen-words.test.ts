import { expect, it } from 'vitest';

type Messages = Record<string, string>;

/** Pages are built by themselves, without the tests: a table is read when it is asked for. */
async function messages<Language extends string>(language: Language): Promise<Messages> {
  const file = new URL(`../../dashboard/web/messages/${language}.ts`, import.meta.url);
  const read = (await import(file.href)) as Record<Language, Messages>;
  return read[language];
}

const en = await messages('en');
const de = await messages('de');
const keys = Object.keys(en);
const inGerman = (pattern: RegExp, key: string): boolean => pattern.test(de[key] ?? '');

/** A thing of the trade has one German name on every screen; the words on the right are other things. */
const other: [string, RegExp][] = [
  ['Beschickung', /\b(Beladung|Charge|Füllung)/],
  ['Broker', /\bVermittler/],
  ['Befund', /anderem Urteil|anderes Urteil/],
  ['Fühler', /\bSensor/],
  ['Demo-Anlage', /Demowerk|Demoanlage/],
];

it.each(other)('calls it %s on every German screen', (_, pattern) => {
  expect(keys.filter((key) => inGerman(pattern, key))).toEqual([]);
});

it('calls a calibration’s paper a Kalibrierschein; a Zertifikat is what TLS asks for', () => {
  const tls = /^(upkeep|call\.collector)\./;
  expect(keys.filter((key) => !tls.test(key) && inGerman(/Zertifikat/, key))).toEqual([]);
});

it('leaves no place of a sentence out in either language, and invents none', () => {
  const places = (text = '') => [...new Set(text.match(/\{\w+\}/g))].sort().join(' ');
  expect(keys.filter((key) => places(de[key]) !== places(en[key]))).toEqual([]);
  expect(keys.length).toBeGreaterThan(500);
});
