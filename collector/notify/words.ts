import type { SignedCheckpoint } from '../ledger/shape.ts';
import type { Call } from '@setwell/shared-models/call/call';
import type { CallKind, Job } from '@setwell/shared-models/record/bodies';

type Language = 'en' | 'de';

/** Short words for a subject line; the screens say it whole. */
const kinds: Record<CallKind, Record<Language, string>> = {
  'short-at-plan': { en: 'will be short at the plan', de: 'zum Plan zu wenig' },
  'waiting-will-not-help': { en: 'waiting will not help', de: 'Warten hilft nicht' },
  'nearing-most': { en: 'take it out soon', de: 'bald herausnehmen' },
  'ended-short': { en: 'ended undercured', de: 'endete mit zu wenig' },
  'ended-unproven': { en: 'ended unproven', de: 'endete fraglich' },
  'ended-over': { en: 'ended overcured', de: 'endete mit zu viel' },
  'release-questioned': { en: 'release questioned', de: 'Freigabe fraglich' },
  'readings-too-late': { en: 'readings came too late', de: 'Werte kamen zu spät' },
  'which-lot': { en: 'which lot?', de: 'welches Los?' },
  'event-refused': { en: 'a message was not believed', de: 'eine Meldung wurde nicht geglaubt' },
  'load-faulted': { en: 'cannot be judged', de: 'lässt sich nicht beurteilen' },
  'sensor-silent': { en: 'sensor silent', de: 'Fühler still' },
  'point-fault': { en: 'sensor doubtful', de: 'Fühler fraglich' },
  'station-silent': { en: 'all sensors silent', de: 'alle Fühler still' },
  'supply-failing': { en: 'heat supply failing', de: 'Wärme fällt aus' },
  'outside-limits': { en: 'outside its limits', de: 'außerhalb der Grenzen' },
  'recovery-late': { en: 'recovers too slowly', de: 'erholt sich zu langsam' },
  'pressure-lost': { en: 'pressure lost', de: 'Druck verloren' },
  precure: { en: 'heat before pressure', de: 'Wärme vor dem Druck' },
  'assembly-time': { en: 'assembly time ends', de: 'Wartezeit endet' },
  'flash-off': { en: 'flash-off time ends', de: 'Ablüftzeit endet' },
  recoat: { en: 'recoat time ends', de: 'Zeit zum Überlackieren endet' },
  'piece-too-cold': { en: 'piece too cold', de: 'Werkstück zu kalt' },
  'rest-incomplete': { en: 'rest not complete', de: 'Ruhezeit nicht um' },
  'idle-hot': { en: 'hot and empty', de: 'heiß und leer' },
  'ready-late': { en: 'ready later than planned', de: 'später bereit als geplant' },
  'closing-unnamed': { en: 'a closing without a name', de: 'Schließung ohne Namen' },
  collector: { en: 'the collector needs somebody', de: 'der Sammler braucht jemanden' },
};

const jobs: Record<Job, Record<Language, string>> = {
  'shift-lead': { en: 'shift lead', de: 'Schichtführung' },
  maintenance: { en: 'maintenance', de: 'Instandhaltung' },
  engineer: { en: 'process engineer', de: 'Verfahrenstechnik' },
  administrator: { en: 'administrator', de: 'Verwaltung' },
};

const lines = {
  en: {
    raised: 'Called',
    who: 'For',
    load: 'Load',
    lot: 'Lot',
    point: 'Sensor',
    tooLate: 'Too late',
    over: 'Over since',
    because: 'Because',
    handedOn: 'Nobody has come',
    advice: 'Setwell advises; it opens and locks nothing. What to do stands on the Calls screen.',
    digest: (n: number) => `${String(n)} calls`,
    test: 'a test',
    testText: 'This is a test. Nobody is called.',
  },
  de: {
    raised: 'Gerufen',
    who: 'Für',
    load: 'Beschickung',
    lot: 'Los',
    point: 'Fühler',
    tooLate: 'Zu spät ab',
    over: 'Vorbei seit',
    because: 'Grund',
    handedOn: 'Niemand ist gekommen',
    advice: 'Setwell rät; es öffnet und sperrt nichts. Was zu tun ist, steht unter Rufe.',
    digest: (n: number) => `${String(n)} Rufe`,
    test: 'eine Probe',
    testText: 'Dies ist eine Probe. Niemand ist gerufen.',
  },
};

export interface Words {
  subject: string;
  text: string;
}

/** @param clock a moment in the plant's own time, for people */
export function wordsOf(calls: Call[], language: Language, clock: (ms: number) => string): Words {
  const say = lines[language];
  const [first] = calls;
  const one = calls.length === 1 && first ? lineOf(first, language) : say.digest(calls.length);
  const text = calls.map((call) => paragraphOf(call, language, clock)).join('\n\n');
  return { subject: `Setwell: ${one}`, text: `${text}\n\n${say.advice}\n` };
}

export function testWords(language: Language): Words {
  const say = lines[language];
  return { subject: `Setwell: ${say.test}`, text: `${say.testText}\n` };
}

/** What a call is about, in a few words. */
export function callName(kind: CallKind, language: Language): string {
  return kinds[kind][language];
}

function lineOf({ raised }: Call, language: Language): string {
  const { kind, station, point, load, values } = raised;
  const lot = values['lot'];
  const about = typeof lot === 'string' && lot !== '' ? lot : (point ?? load ?? '');
  return [station ?? '', about, callName(kind, language)].filter((part) => part !== '').join(' · ');
}

function paragraphOf(call: Call, language: Language, clock: (ms: number) => string): string {
  const { raised, atMs, handedOn, cleared } = call;
  const { kind, load, point, values, tooLateMs, who } = raised;
  const say = lines[language];
  const lot = values['lot'];
  const last = handedOn.at(-1);
  const rows: (string | null)[] = [
    lineOf(call, language),
    `${say.raised}: ${clock(atMs)}`,
    `${say.who}: ${jobs[who][language]}`,
    last ? `${say.handedOn}: ${jobs[last.to][language]}, ${clock(last.atMs)}` : null,
    typeof lot === 'string' && lot !== '' ? `${say.lot}: ${lot}` : null,
    load === null ? null : `${say.load}: ${load}`,
    point === null ? null : `${say.point}: ${point}`,
    kind === 'collector' ? `${say.because}: ${codeOf(values)}` : null,
    tooLateMs === null ? null : `${say.tooLate}: ${clock(tooLateMs)}`,
    cleared ? `${say.over}: ${clock(cleared.atMs)}` : null,
  ];
  return rows.filter((row) => row !== null).join('\n');
}

/** What is wrong with the collector, by its code, what it is about and what was heard of it. */
function codeOf({ because, subject, fault }: Call['raised']['values']): string {
  return [because, subject, fault].filter((part) => part != null && part !== '').join(', ');
}

/** The newest checkpoint, to be kept: whoever holds it can show later whether the log was changed. */
export function checkpointWords(
  { note, key, size }: SignedCheckpoint,
  title: string,
  at: string,
  language: Language,
): Words {
  const entries = String(size);
  const kept =
    language === 'de'
      ? {
          subject: `Prüfpunkt von ${title}: ${entries} Einträge`,
          text: `Stand ${at}. Bitte aufbewahren: Wer diesen Prüfpunkt hat, kann später zeigen, ob das Protokoll davor geändert wurde (setwell verify … --since). Was ein Sensor nicht richtig gesagt hat, zeigt er nicht.`,
        }
      : {
          subject: `Checkpoint of ${title}: ${entries} entries`,
          text: `As of ${at}. Please keep this: whoever holds this checkpoint can show later whether the log before it was changed (setwell verify … --since). That the sensors told the truth it cannot show.`,
        };
  return { ...kept, text: `${kept.text}\n\n${note}\n${key}\n` };
}
