import type { search as original } from '../en/search.ts';

export const search: Record<keyof typeof original, string> = {
  'search.field': 'scannen oder suchen',
  'search.label': 'Scannen oder suchen',
  'search.title': 'Suche: {text}',
  'search.col.name': 'Name',
  'search.col.what': 'was',
  'search.col.where': 'wo',
  'search.col.last': 'letzter Beginn',
  'search.kind.lot': 'Los',
  'search.kind.load': 'Beschickung',
  'search.kind.part': 'Teil',
  'search.kind.station': 'Station',
  'search.kind.point': 'Fühler',
  'search.kind.instrument': 'Instrument',
  'search.kind.recipe': 'Rezept',
  'search.of': '{kind}, {at}',
  'search.unknown': '„{text}“ ist nicht bekannt.',
  'search.near': 'Ähnlich:',
  'search.scanned': 'Wurde es gescannt, so tippt der Scanner vielleicht für eine andere Tastatur.',
  'search.more': 'Es gibt mehr; ein längerer Text findet weniger.',
  'search.withoutPoints':
    'Fühler und Instrumente wurden nicht durchsucht: der Sammler antwortet nicht.',
};
