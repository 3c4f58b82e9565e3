import { expect, it, vi } from 'vitest';

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

it('says a range whose ends read alike as one number, in each language', async () => {
  vi.stubGlobal('location', { search: '?lang=en' });
  const file = new URL('../../dashboard/web/language.ts', import.meta.url);
  const { say, setLanguage } = (await import(file.href)) as {
    say: (key: string, values: Record<string, string | number>) => string;
    setLanguage: (language: string) => void;
  };
  const curve = { face: 'left', n: 30, degrees: '°C' };
  expect(say('heat.curve', { ...curve, low: 19, high: 19 })).toContain('(19 °C)');
  expect(say('heat.curve', { ...curve, low: 18, high: 19 })).toContain('(18 to 19 °C)');
  expect(say('bar.range', { low: '6.1', high: '6.1' })).toBe('6.1');
  const gap = { point: 'p1-ul', cost: '0.1', unit: 'min', from: '13:02', to: '13:02' };
  expect(say('reason.gap', gap)).toContain('from 13:02 to 13:02');
  setLanguage('de');
  expect(say('heat.curve', { ...curve, low: 19, high: 19 })).toContain('(19 °C)');
  expect(say('reason.gap', gap)).toContain('von 13:02 bis 13:02');
});
