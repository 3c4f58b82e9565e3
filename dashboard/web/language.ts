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

/** A whole sentence in the device's language; a place without a value says so instead of vanishing. */
export function say(key: MessageKey, values: Values = {}): string {
  return tables[language.value][key].replaceAll(/\{(\w+)\}/g, (_, name: string) =>
    String(values[name] ?? '?'),
  );
}

export const isMessage = (key: string): key is MessageKey => key in en;

/** A message whose key is made of data; the data's own word where no message has it. */
export function sayAny(key: string, otherwise: string, values: Values = {}): string {
  return isMessage(key) ? say(key, values) : otherwise;
}
