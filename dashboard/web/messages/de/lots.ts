import type { lots as original } from '../en/lots.ts';

export const lots: Record<keyof typeof original, string> = {
  'lots.title': 'Lose',
  'lots.none':
    'Noch keine Lose. Ein Los erscheint mit seiner ersten Beschickung, oder beschicken Sie von Hand.',
  'lots.held': 'Zu entscheiden {n}',
  'lots.work': 'In Arbeit {n}',
  'lots.done': 'Fertig {n}',
  'lots.loads.one': '1 Beschickung',
  'lots.loads.more': '{n} Beschickungen',
  'lots.find': 'Los suchen',
  'lots.nothingFound': 'Kein Los heißt hier „{text}“.',
  'lots.col.lot': 'Los',
  'lots.col.state': 'Stand',
  'lots.col.loads': 'Beschickungen',
  'lots.col.last': 'letzter Beginn',
  'lots.col.stations': 'Stationen',

  'lot.title': 'Los {lot}',
  'lot.fetching': 'Das Los wird geholt.',
  'lot.asItWas': 'Neueres ist nicht zu holen: unten steht das Los, wie es war.',
  'lot.notKnown': 'Los „{lot}“ ist nicht bekannt.',
  'lot.held': 'Über {n} Beschickungen ist zu entscheiden.',
  'lot.heldOne': 'Über 1 Beschickung ist zu entscheiden.',
  'lot.heldAlready': 'Es ist schon gesperrt.',
  'lot.work': 'In Arbeit: {n} jetzt in den Stationen.',
  'lot.decided':
    'Entschieden, doch nicht alle Wärme ist belegt: Beschickungen außerhalb ihres Fensters, {n}.',
  'lot.done': 'Alle Wärme ist belegt.',
  'lot.doneMore':
    'Belegte Wärme ist keine Klebfestigkeit; die Freigabe wartet auf die anderen Forderungen.',
  'lot.cut':
    'Hier stehen die neuesten {n} Beschickungen des Loses, und oben ist von ihnen die Rede; die Losakte hat alle.',
  'lot.steps': 'Schritte, wie sie geschahen',
  'lot.export': 'Losakte',
  'lot.record': 'Verlauf und Prüfung',
  'lot.noRecord': 'noch kein Nachweis',
  'lot.revisions': '{n} Fassungen',
  'lot.verdictOfStep': '{kind}, {from}–{to}',
  'lot.verdictOfOpenStep': '{kind}, seit {from}',
};
