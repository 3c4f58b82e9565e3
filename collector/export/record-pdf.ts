// Longer than the limit because a printed record is one list of sections in the order they are read.
import { verdictToken } from '@setwell/shared-models/api/floor';
import type { Disposition } from '@setwell/shared-models/record/bodies';
import type { LotFile, LotLoad, LotRevision } from '@setwell/shared-models/record/lot-file';
import { retentionOf, usualLotFileYears } from '@setwell/shared-models/record/retention';
import type {
  LoadTrace,
  Mark,
  RequirementCheck,
  ScoreInput,
} from '@setwell/shared-models/score/shape';
import type { SignedCheckpoint } from '../ledger/shape.ts';
import { callName } from '../notify/words.ts';
import { localTime } from './local-time.ts';
import { drawCharts } from './pdf-charts.ts';
import { changeMarks, instrumentsTable } from './pdf-instruments.ts';
import { coatStacks } from './pdf-coats.ts';
import { drawCureBar, drawSign, told } from './pdf-cure-bar.ts';
import {
  framePages,
  heading,
  keepTogether,
  openPdf,
  page,
  pageWidth,
  paragraph,
  pdfBytes,
  printable,
  soft,
  table,
  type Pdf,
} from './pdf-page.ts';
import { reasonsOf, type Telling } from './pdf-reasons.ts';
import { named, type PrintLanguage } from './print-words.ts';
import { inWords, recordWords, type RecordWords } from './record-words.ts';

/** What is printed of a lot, beside its file. */
export interface RecordPrint {
  file: LotFile;
  /** Newest before the export: the sheet cannot hold the checkpoint that covers it. */
  checkpoint: SignedCheckpoint | null;
  /** Of the loads that have a page of their own. */
  inputs: ReadonlyMap<string, ScoreInput>;
  /** Pictures of those: a page is drawn while the next ones are computed. */
  traces: ReadonlyMap<string, Promise<LoadTrace | null>>;
  by: string;
  atMs: number;
  language: PrintLanguage;
}

/** A lot's record for reading: page by page, in black on white. */
export async function recordPdf(print: RecordPrint): Promise<Buffer> {
  const { file, by, atMs, language } = print;
  const { lot, site } = file;
  const words = recordWords[language];
  const time = (ms: number) => localTime(ms, site.timeZone);
  const telling = { words, time };
  const pdf = await openPdf(printable(words.lot(lot)), atMs, language);
  return pdfBytes(pdf, async () => {
    overview(pdf, print, telling);
    for (const load of file.loads) {
      const input = print.inputs.get(load.load);
      if (!input) continue;
      const trace = (await print.traces.get(load.load)) ?? null;
      loadSection(pdf, load, { input, trace, timeZone: site.timeZone }, telling);
    }
    trail(pdf, file, telling);
    const printed = words.frame.printed(site.title, site.timeZone, time(atMs), by);
    const changed = file.loads.some(({ revisions }) => revisions.length > 1);
    const { frame } = words;
    const title = `Setwell · ${words.lot(lot)}`;
    framePages(pdf, { title, printed, changed, demo: site.demo, words: frame });
  });
}

function overview(
  pdf: Pdf,
  { file, checkpoint, inputs }: RecordPrint,
  { words, time }: Telling,
): void {
  const { lot, loads, state, site } = file;
  pdf
    .font('strong')
    .fontSize(20)
    .text(printable(words.lot(lot)), page.left, page.top);
  pdf.font('text').fontSize(10);
  paragraph(pdf, `${words.loads(loads.length)} · ${words.state[state]}`);
  if (site.demo) paragraph(pdf, words.demo);
  const { hold, dropped } = retentionOf(file.entries, usualLotFileYears);
  if (hold) paragraph(pdf, words.hold(time(hold.atMs), hold.by, hold.n, hold.reason));
  if (dropped) paragraph(pdf, words.dropped(dropped.documents, time(dropped.atMs), dropped.n));
  heading(pdf, words.headings.loads);
  for (const load of loads) loadRow(pdf, load, { words, time });
  coatStacks(pdf, file.coats, words);
  heading(pdf, words.headings.proven, 120);
  paragraph(pdf, words.proven);
  if (checkpoint) {
    const { origin, size, root, key, at } = words.checkpoint;
    pdf.moveDown(0.4);
    paragraph(pdf, `${origin}  ${checkpoint.origin}`, 8.5);
    paragraph(pdf, `${size}  ${String(checkpoint.size)}`, 8.5);
    paragraph(pdf, `${root}  ${checkpoint.root}`, 8.5);
    paragraph(pdf, `${key}  ${checkpoint.key}`, 8.5);
    paragraph(pdf, `${at}  ${time(checkpoint.atMs)}`, 8.5);
  }
  const drawn = loads.filter(({ load }) => inputs.has(load)).length;
  const sealed = loads.filter(({ revision }) => revision !== null).length;
  if (drawn < sealed && !dropped) {
    pdf.moveDown(0.4);
    paragraph(pdf, words.drawn(drawn, sealed), 8.5);
  }
  if (loads.length === 0) return;
  pdf.moveDown(0.6);
  paragraph(pdf, words.safety, 8.5);
}

function loadRow(pdf: Pdf, load: LotLoad, { words, time }: Telling): void {
  keepTogether(pdf, 46);
  const y = pdf.y + 4;
  const token = verdictToken(load);
  drawSign(pdf, token, page.left, y - 2);
  pdf
    .font('strong')
    .fontSize(10)
    .text(words.verdict[token], page.left + 32, y, { lineBreak: false });
  pdf.font('text').fontSize(8.5).fillColor(soft);
  pdf.text(printable(`${load.station} · ${load.load}`), page.left + 32, y + 12, {
    width: 140,
    lineBreak: false,
  });
  const from = time(load.startMs);
  const to = load.endMs === null ? words.running : time(load.endMs).slice(11);
  pdf.text(`${from} – ${to}`, page.left + 32, y + 22, { lineBreak: false });
  pdf.fillColor('#111111');
  const worst = worstPlace(load);
  if (worst && load.window) {
    drawCureBar(pdf, worst, load.window, load.unit ?? '', {
      ...{ x: page.left + 250, y: y + 3, width: pageWidth - 250, words },
    });
  }
  pdf.y = y + 38;
  pdf.x = page.left;
}

function worstPlace({ places, worst }: LotLoad): LotLoad['places'][number] | null {
  return (
    places.find(({ zone, glueLine }) => zone === worst?.zone && glueLine === worst.glueLine) ?? null
  );
}

function loadSection(
  pdf: Pdf,
  load: LotLoad,
  { input, trace, timeZone }: { input: ScoreInput; trace: LoadTrace | null; timeZone: string },
  telling: Telling,
): void {
  const { words } = telling;
  pdf.addPage();
  const token = verdictToken(load);
  pdf.font('strong').fontSize(15);
  pdf.text(printable(`${load.load} · ${load.station}`), page.left, page.top);
  pdf.font('text').fontSize(10);
  const worst = worstPlace(load);
  paragraph(pdf, sentenceOf(load, telling));
  if (worst && load.window) {
    const y = pdf.y + 8;
    drawSign(pdf, token, page.left, y - 3);
    drawCureBar(pdf, worst, load.window, load.unit ?? '', {
      ...{ x: page.left + 34, y, width: pageWidth - 34, words },
    });
    pdf.y = y + 30;
    pdf.x = page.left;
  }
  if (trace && load.window) {
    const changes = changeMarks(input, words);
    drawCharts(pdf, { trace, window: load.window, unit: load.unit ?? '', changes, words });
  }
  reasonsOf(pdf, load, telling);
  placesTable(pdf, load, words);
  requirementsTable(pdf, load, words);
  budgetTable(pdf, load, words);
  instrumentsTable(pdf, input, { timeZone, words });
  revisionsTable(pdf, load, telling);
}

function sentenceOf(load: LotLoad, { words, time }: Telling): string {
  const { recipe, revision, sealedBy, model, readings, quality, marks, parts } = load;
  const span = ({ earliestMs, latestMs }: Mark) =>
    latestMs > earliestMs
      ? words.range(time(earliestMs), time(latestMs).slice(11))
      : time(earliestMs);
  return [
    recipe ? words.recipe(recipe.id, recipe.revision) : words.noRecipe,
    parts.length > 0 ? words.parts(parts.join(', ')) : '',
    marks.contact ? words.contact(span(marks.contact)) : '',
    words.countedFrom(span(marks.pressureOn), marks.pressureOn.assumed === true),
    marks.releaseStart ? words.countedTo(span(marks.releaseStart)) : '',
    words.account(revision, model?.number ?? null, sealedBy === 'deadline'),
    words.readings(
      readings?.count ?? 0,
      quality?.doubtful ?? 0,
      quality?.conflicts ?? 0,
      quality?.gaps ?? 0,
    ),
  ].join('');
}

function placesTable(pdf: Pdf, load: LotLoad, words: RecordWords): void {
  if (load.places.length === 0) return;
  heading(pdf, words.headings.places);
  const { window } = load;
  const margin = ({ low, high }: { low: number; high: number }) =>
    Math.min(low - (window?.least ?? 0), (window?.most ?? Infinity) - high);
  const sorted = [...load.places].sort((a, b) => margin(a) - margin(b)).slice(0, 12);
  const rows = sorted.map((place) => [
    place.zone,
    place.glueLine === null ? '' : String(place.glueLine),
    place.depthMm === null ? '' : inWords(place.depthMm.toFixed(2), words),
    told(place.low, words),
    told(place.nominal, words),
    told(place.high, words),
    words.verdict[place.verdict],
  ]);
  const head = words.placeColumns(load.unit ?? '');
  table(pdf, [90, 60, 70, 70, 70, 70, 70], [head, ...rows]);
}

function requirementsTable(pdf: Pdf, load: LotLoad, words: RecordWords): void {
  if (load.requirements.length === 0) return;
  heading(pdf, words.headings.requirements);
  const rows = load.requirements.map(
    ({ kind, coveredBy, procedure, verdict, evidence, checks }) => [
      named(words.kind, kind),
      coveredBy === 'not-monitored' ? words.unmonitored(procedure) : words.covered[coveredBy],
      verdict === 'not-monitored' ? words.covered[verdict] : words.verdict[verdict],
      checks.length > 0
        ? checks.map((check) => checkLine(check, words)).join('\n')
        : named(words.check, evidence ?? ''),
    ],
  );
  table(pdf, [100, 150, 80, 169], [words.requirementColumns, ...rows]);
}

/** One figure against its bounds; a mix or a zone has its own name behind ours. */
function checkLine(
  { what, low, high, least, most, unit }: RequirementCheck,
  words: RecordWords,
): string {
  const [kind = what, ...name] = what.split(' ');
  const title = Object.hasOwn(words.check, what)
    ? named(words.check, what)
    : [named(words.check, kind), ...name].join(' ');
  const figure = (value: number) => inWords(String(Number(value.toFixed(2))), words);
  const found =
    low === null || high === null
      ? words.unheard
      : `${words.range(inWords(low.toFixed(2), words), inWords(high.toFixed(2), words))} ${unit}`;
  const bound = (value: number | null) => (value === null ? null : figure(value));
  return `${title} ${found}${words.bounds(bound(least), bound(most))}`;
}

function budgetTable(pdf: Pdf, load: LotLoad, words: RecordWords): void {
  if (load.budget.length === 0) return;
  heading(pdf, words.headings.budget);
  const rows = load.budget.map(({ term, down, up, unit }) => [
    words.term[term],
    `${told(Math.abs(down), words)} ${unit}`,
    `${told(Math.abs(up), words)} ${unit}`,
  ]);
  table(pdf, [150, 120, 120], [words.budgetColumns, ...rows]);
  const { place } = load;
  if (place === undefined) return;
  const { survey, placeK, by, n } = place;
  paragraph(pdf, words.place(survey, inWords(placeK.toFixed(1), words), by, n), 8.5);
}

function revisionsTable(pdf: Pdf, load: LotLoad, { words, time }: Telling): void {
  heading(pdf, words.headings.accounts(load.revisions.length > 1));
  const rows = load.revisions.map(({ n, atMs, revision, because, verdict, result }) => [
    String(revision),
    String(n),
    time(atMs),
    because === null ? words.sealed : becauseWords(because, words),
    words.verdict[verdict],
    `${result.slice(0, 16)}…`,
  ]);
  table(pdf, [50, 45, 130, 100, 70, 104], [words.accountColumns, ...rows]);
}

function becauseWords(because: NonNullable<LotRevision['because']>, words: RecordWords): string {
  return typeof because === 'string' ? words.because[because] : words.byAct(because.act.by);
}

/** What people did and what was called, in the order it happened. */
function trail(pdf: Pdf, file: LotFile, { words, time }: Telling): void {
  const decided = [...file.dispositions, ...file.loads.flatMap(({ dispositions }) => dispositions)];
  const who = (by: string) => named(words.person, by);
  const rows = decided
    .sort((a, b) => a.n - b.n)
    .map(({ n, by, atMs, body }) => {
      const { decision = '', reason = '', rule = null } = body as Partial<Disposition>;
      const why = rule === null ? reason : words.byRule[rule];
      return [String(n), time(atMs), who(by), named(words.decide, decision), why];
    });
  const calls = file.loads.flatMap((load) => load.calls);
  if (rows.length > 0) {
    pdf.addPage();
    heading(pdf, words.headings.decided);
    table(pdf, [45, 130, 90, 80, 154], [words.decidedColumns, ...rows]);
  }
  if (calls.length > 0) {
    if (rows.length === 0) pdf.addPage();
    heading(pdf, words.headings.calls);
    table(
      pdf,
      [45, 130, 110, 90, 124],
      [
        words.callColumns,
        ...calls.map(({ n, atMs, raised, acknowledged }) => [
          String(n),
          time(atMs),
          callName(raised.kind, words.language),
          raised.load ?? '',
          acknowledged ? who(acknowledged.by) : words.nobody,
        ]),
      ],
    );
  }
}
