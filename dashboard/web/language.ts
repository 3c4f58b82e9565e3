import { signal } from '@preact/signals';
import { de } from './messages/de.ts';
import { en, type MessageKey } from './messages/en.ts';
import { kept, keep } from './kept.ts';

export type Language = 'en' | 'de';

const tables: Record<Language, Record<MessageKey, string>> = { en, de };

function firstLanguage(): Language {
  const asked = new URLSearchParams(location.search).get('lang') ?? kept('language');
  if (asked === 'en' || asked === 'de') return asked;
  return navigator.language.startsWith('de') ? 'de' : 'en';
}

/** The language of this device. */
export const language = signal<Language>(firstLanguage());

export function setLanguage(next: Language): void {
  keep('language', next);
  language.value = next;
}

export type Values = Record<string, string | number>;

/** From one to another, as messages write it; behind "from" and "von" it needs both. */
const range = /(?<!from |von )\{(\w+)\}(?: to | bis |–)\{(\w+)\}/g;

/**
 * A whole sentence in the device's language; a place without a value says so instead of vanishing, and a
 * range whose ends read alike is one number.
 */
export function say(key: MessageKey, values: Values = {}): string {
  const text = (name: string): string => String(values[name] ?? '?');
  return tables[language.value][key]
    .replaceAll(range, (both, low: string, high: string) =>
      text(low) === text(high) ? `{${low}}` : both,
    )
    .replaceAll(/\{(\w+)\}/g, (_, name: string) => text(name));
}

export const isMessage = (key: string): key is MessageKey => key in en;

/** A message whose key is made of data; the data's own word where no message has it. */
export function sayAny(key: string, otherwise: string, values: Values = {}): string {
  return isMessage(key) ? say(key, values) : otherwise;
}
