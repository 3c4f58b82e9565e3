import { frameWords } from './frame-words.ts';
import { screenWords, type PrintLanguage } from './print-words.ts';

/** Sentences of a printed record: whole ones, for no language puts them together as another does. */
const en = {
  ...screenWords.en,
  language: 'en' as PrintLanguage,
  decimal: '.',
  lot: (lot: string) => `Lot ${lot}`,
  loads: (n: number) => (n === 1 ? '1 load' : `${String(n)} loads`),
  state: {
    'in-work': 'in work',
    held: 'on hold',
    released: 'released',
    'release-questioned': 'released, and an account has changed since: the release is questioned',
    scrapped: 'scrapped',
  },
  demo: 'DEMO: this plant, its loads and its numbers are invented.',
  hold: (since: string, by: string, n: number, reason: string) =>
    `Legal hold since ${since} by ${by}, entry ${String(n)}: nothing is deleted. ${reason}`,
  dropped: (documents: number, at: string, n: number) =>
    `${String(documents)} documents were deleted after their time on ${at}, entry ${String(n)}. The entries are here; what those documents led to cannot be computed again.`,
  headings: {
    loads: 'Loads',
    proven: 'What is proven',
    places: 'Places, worst first',
    requirements: 'Requirements, and how each is known',
    reasons: 'What holds against it',
    deviations: 'Deviations: on the record, no verdict',
    budget: 'Why this wide: what each doubt costs at the worst place',
    instruments: 'Instruments as of this load',
    decided: 'What people decided',
    calls: 'Calls',
    coats: 'Coats as they lie, top first',
    accounts: (changed: boolean) => `Accounts: changed since original: ${changed ? 'yes' : 'no'}`,
  },
  proven:
    'Since the checkpoint below nothing of this record has changed. Anyone can repeat the computation with the model named. That the sensors told the truth, and that nothing was added after that checkpoint, this sheet cannot show. Heat proven is not bond strength.',
  checkpoint: {
    origin: 'checkpoint',
    size: 'entries',
    root: 'root',
    key: 'key',
    at: 'at',
  },
  drawn: (drawn: number, sealed: number) =>
    `Pages of their own have ${String(drawn)} of ${String(sealed)} loads, those with the least margin; the bundle holds all.`,
  safety:
    'Hot surfaces burn on touch; wood glues and paints can give off formaldehyde, solvents or isocyanates. Follow the safety data sheet, your employer’s rules and the local code; licensed people judge. Setwell advises; it opens and locks nothing.',
  running: 'running',
  range: (low: string, high: string) => `${low} to ${high}`,
  parts: (parts: string) => `Parts ${parts}. `,
  recipe: (id: string, revision: number) => `Recipe ${id}, revision ${String(revision)}. `,
  noRecipe: 'No recipe. ',
  contact: (at: string) => `Contact ${at}. `,
  countedFrom: (at: string, assumed: boolean) =>
    `Counted from${assumed ? ' (assumed: taken from start and end)' : ''} ${at}. `,
  countedTo: (at: string) => `Counted to ${at}. `,
  account: (revision: number | null, model: number | null, deadline: boolean) =>
    `Account ${String(revision)}, ${model === null ? 'by code without a number, never released' : `by model ${String(model)}`}, ${deadline ? 'sealed at the deadline: not every sensor had spoken' : 'sealed with all readings in'}. `,
  readings: (count: number, doubtful: number, conflicts: number, gaps: number) =>
    `${String(count)} readings, ${String(doubtful)} doubtful, ${String(conflicts)} in conflict, ${String(gaps)} gaps.`,
  placeColumns: (unit: string) => [
    'zone',
    'glue line',
    'depth mm',
    `low ${unit}`,
    'nominal',
    'high',
    'verdict',
  ],
  requirementColumns: ['requirement', 'known by', 'verdict', 'evidence'],
  unmonitored: (procedure: string | null) =>
    `nobody here measures it; ${procedure === null ? 'no procedure is named' : `covered by ${procedure}`}`,
  bounds: (least: string | null, most: string | null) =>
    least !== null && most !== null
      ? `, asked ${least} to ${most}`
      : least !== null
        ? `, asked at least ${least}`
        : most !== null
          ? `, asked at most ${most}`
          : '',
  budgetColumns: ['doubt', 'lowers by', 'raises by'],
  place: (survey: string, k: string, by: string, n: number) =>
    `Place: survey ${survey} says ± ${k} K, approved by ${by}, entry ${String(n)}; the larger of this and the recipe’s counts.`,
  accountColumns: ['account', 'entry', 'at', 'because', 'verdict', 'SHA-256 of result'],
  sealed: 'sealed',
  byAct: (by: string) => `act by ${by}`,
  decidedColumns: ['entry', 'at', 'by', 'decision', 'reason'],
  callColumns: ['entry', 'raised', 'call', 'load', 'taken by'],
  glueLine: (line: number) => `glue line ${String(line)}`,
  nobody: 'nobody',
  byRule: {
    short: 'by rule: it ended short',
    over: 'by rule: it ended past the most',
    unproven: 'by rule: nothing proves it',
  },
  instrumentColumns: ['point', 'instrument', 'signal', 'uncertainty', 'covers', 'corrections'],
  fromTime: (point: string, clock: string) => `${point} from ${clock}`,
  nothingFitted: 'nothing fitted',
  notCalibrated: 'not calibrated',
  out: 'out',
  changed: 'changed',
  standsIn: (point: string) => `${point} stands in`,
  coat: (coat: number, verdict: string) => `Coat ${String(coat)} · ${verdict}`,
  unfollowed: (loads: string) => `nobody could follow ${loads}`,
  neverBaked: 'never baked',
  neverHealed: 'never baked: no later bake heals it',
  ownBake: (load: string, range: string) => `own bake ${load}: ${range}`,
  someParts: (named: string, more: number) =>
    `Parts ${named}${more > 0 ? ` and ${String(more)} more` : ''}`,
  chart: {
    line: (line: number) => `line ${String(line)}, computed`,
    face: { upper: 'upper', lower: 'lower', air: 'air' },
    pale: (c: string) => `${c} °C pale`,
    dark: (c: string) => `${c} °C dark`,
    zone: (zone: string) => `zone ${zone}`,
    least: 'least',
    most: 'most',
  },
  frame: frameWords.en,
};

export type RecordWords = typeof en;

const de: RecordWords = {
  ...screenWords.de,
  language: 'de',
  decimal: ',',
  lot: (lot) => `Los ${lot}`,
  loads: (n) => (n === 1 ? '1 Beschickung' : `${String(n)} Beschickungen`),
  state: {
    'in-work': 'in Arbeit',
    held: 'gesperrt',
    released: 'freigegeben',
    'release-questioned':
      'freigegeben, und eine Fassung hat sich seitdem geändert: die Freigabe ist fraglich',
    scrapped: 'verworfen',
  },
  demo: 'DEMO: dieses Werk, seine Beschickungen und seine Zahlen sind erfunden.',
  hold: (since, by, n, reason) =>
    `Aufbewahrungssperre seit ${since} durch ${by}, Eintrag ${String(n)}: nichts wird gelöscht. ${reason}`,
  dropped: (documents, at, n) =>
    `${String(documents)} Dokumente wurden nach ihrer Zeit am ${at} gelöscht, Eintrag ${String(n)}. Die Einträge sind hier; was aus diesen Dokumenten folgte, lässt sich nicht noch einmal rechnen.`,
  headings: {
    loads: 'Beschickungen',
    proven: 'Was belegt ist',
    places: 'Stellen, schwächste zuerst',
    requirements: 'Anforderungen, und woher man jede weiß',
    reasons: 'Was dagegen spricht',
    deviations: 'Abweichungen: in der Aufzeichnung, kein Befund',
    budget: 'Warum so breit: was jeder Zweifel an der schwächsten Stelle kostet',
    instruments: 'Messmittel zur Zeit dieser Beschickung',
    decided: 'Was Personen entschieden',
    calls: 'Rufe',
    coats: 'Schichten, wie sie liegen, oberste zuerst',
    accounts: (changed) => `Fassungen: seit der ersten geändert: ${changed ? 'ja' : 'nein'}`,
  },
  proven:
    'Seit dem Prüfpunkt unten hat sich nichts an diesem Nachweis geändert. Wer will, kann die Rechnung mit dem genannten Modell wiederholen. Dass die Fühler die Wahrheit sagten, und dass nach diesem Prüfpunkt nichts hinzukam, kann dieses Blatt nicht zeigen. Belegte Wärme ist keine Festigkeit der Verbindung.',
  checkpoint: {
    origin: 'Prüfpunkt',
    size: 'Einträge',
    root: 'Wurzel',
    key: 'Schlüssel',
    at: 'am',
  },
  drawn: (drawn, sealed) =>
    `Eigene Seiten haben ${String(drawn)} von ${String(sealed)} Beschickungen, die mit dem kleinsten Abstand; im Bündel sind alle.`,
  safety:
    'Heiße Flächen verbrennen bei Berührung; aus Leimen und Lacken können Formaldehyd, Lösemittel oder Isocyanate entweichen. Dem Sicherheitsdatenblatt, den Regeln des Arbeitgebers und den örtlichen Vorschriften folgen; befugte Fachleute beurteilen. Setwell rät; es öffnet und sperrt nichts.',
  running: 'läuft',
  range: (low, high) => `${low} bis ${high}`,
  parts: (parts) => `Teile ${parts}. `,
  recipe: (id, revision) => `Rezept ${id}, Revision ${String(revision)}. `,
  noRecipe: 'Kein Rezept. ',
  contact: (at) => `Kontakt ${at}. `,
  countedFrom: (at, assumed) =>
    `Gezählt ab${assumed ? ' (angenommen: aus Anfang und Ende)' : ''} ${at}. `,
  countedTo: (at) => `Gezählt bis ${at}. `,
  account: (revision, model, deadline) =>
    `Fassung ${String(revision)}, ${model === null ? 'von Programmtext ohne Nummer, nie freigegeben' : `von Modell ${String(model)}`}, ${deadline ? 'besiegelt am Ende der Frist: nicht jeder Fühler hatte gesprochen' : 'besiegelt mit allen Werten'}. `,
  readings: (count, doubtful, conflicts, gaps) =>
    `${String(count)} Werte, ${String(doubtful)} zweifelhaft, ${String(conflicts)} im Widerspruch, ${String(gaps)} Lücken.`,
  placeColumns: (unit) => [
    'Zone',
    'Leimfuge',
    'Tiefe mm',
    `tief ${unit}`,
    'nominal',
    'hoch',
    'Befund',
  ],
  requirementColumns: ['Anforderung', 'bekannt durch', 'Befund', 'Beleg'],
  unmonitored: (procedure) =>
    `hier misst es niemand; ${procedure === null ? 'kein Verfahren ist genannt' : `geregelt durch ${procedure}`}`,
  bounds: (least, most) =>
    least !== null && most !== null
      ? `, verlangt ${least} bis ${most}`
      : least !== null
        ? `, verlangt mindestens ${least}`
        : most !== null
          ? `, verlangt höchstens ${most}`
          : '',
  budgetColumns: ['Zweifel', 'senkt um', 'hebt um'],
  place: (survey, k, by, n) =>
    `Ort: Vermessung ${survey} sagt ± ${k} K, freigegeben von ${by}, Eintrag ${String(n)}; das Größere von diesem und dem des Rezepts gilt.`,
  accountColumns: ['Fassung', 'Eintrag', 'am', 'weil', 'Befund', 'SHA-256 des Ergebnisses'],
  sealed: 'besiegelt',
  byAct: (by) => `Handlung von ${by}`,
  decidedColumns: ['Eintrag', 'am', 'von', 'Entscheidung', 'Grund'],
  callColumns: ['Eintrag', 'gerufen', 'Ruf', 'Beschickung', 'übernommen von'],
  glueLine: (line) => `Leimfuge ${String(line)}`,
  nobody: 'niemand',
  byRule: {
    short: 'nach Regel: es endete mit zu wenig',
    over: 'nach Regel: es endete mit zu viel',
    unproven: 'nach Regel: nichts belegt es',
  },
  instrumentColumns: ['Messstelle', 'Messmittel', 'Signal', 'Unsicherheit', 'deckt', 'Korrekturen'],
  fromTime: (point, clock) => `${point} ab ${clock}`,
  nothingFitted: 'nichts eingebaut',
  notCalibrated: 'nicht kalibriert',
  out: 'ausgebaut',
  changed: 'gewechselt',
  standsIn: (point) => `${point} springt ein`,
  coat: (coat, verdict) => `Schicht ${String(coat)} · ${verdict}`,
  unfollowed: (loads) => `niemand konnte ${loads} folgen`,
  neverBaked: 'nie getrocknet',
  neverHealed: 'nie getrocknet: keine spätere Trocknung heilt das',
  ownBake: (load, range) => `eigene Trocknung ${load}: ${range}`,
  someParts: (named, more) => `Teile ${named}${more > 0 ? ` und ${String(more)} weitere` : ''}`,
  chart: {
    line: (line) => `Fuge ${String(line)}, gerechnet`,
    face: { upper: 'oben', lower: 'unten', air: 'Luft' },
    pale: (c) => `${c} °C hell`,
    dark: (c) => `${c} °C dunkel`,
    zone: (zone) => `Zone ${zone}`,
    least: 'mindestens',
    most: 'höchstens',
  },
  frame: frameWords.de,
};

export const recordWords: Record<PrintLanguage, RecordWords> = { en, de };

/** A number with its language's decimal sign. */
export function inWords(number: string, { decimal }: Pick<RecordWords, 'decimal'>): string {
  return number.replaceAll('.', decimal);
}
