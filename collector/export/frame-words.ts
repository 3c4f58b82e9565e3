import type { PrintLanguage } from './print-words.ts';

/** What head and foot of every printed page say. */
const en = {
  page: (at: number, of: number) => `page ${String(at)} of ${String(of)}`,
  changed: (changed: boolean) => `changed since original: ${changed ? 'yes' : 'no'}`,
  printed: (where: string, zone: string, at: string, by: string) =>
    `${where} · times in ${zone} · ${at} · printed by ${by}`,
};

export type FrameWords = typeof en;

const de: FrameWords = {
  page: (at, of) => `Seite ${String(at)} von ${String(of)}`,
  changed: (changed) => `seit der ersten Fassung geändert: ${changed ? 'ja' : 'nein'}`,
  printed: (where, zone, at, by) => `${where} · Zeiten in ${zone} · ${at} · gedruckt von ${by}`,
};

export const frameWords: Record<PrintLanguage, FrameWords> = { en, de };
