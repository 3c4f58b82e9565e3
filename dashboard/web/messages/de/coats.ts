import type { coats as original } from '../en/coats.ts';

export const coats: Record<keyof typeof original, string> = {
  'coat.stack': 'Lackschichten, wie sie liegen, oberste zuerst',
  'coat.how':
    'Balken: alle Trocknungen einer Schicht zusammen gegen das, was sie verträgt; die feine Schraffur haben spätere gegeben.',
  'coat.name': 'Schicht {n}',
  'coat.step': 'eigene Trocknung {load}: {low}–{high} {unit}',
  'coat.missed': 'nie getrocknet: keine spätere Trocknung heilt das',
  'coat.missedNow': 'nie getrocknet',
  'coat.unjudged': '{loads} konnte niemand verfolgen',
  'coat.parts': 'Teile {parts}',
  'coat.partsMore': 'Teile {parts} und {n} weitere',
};
