// Longer than the limit because a printed record is one list of sections in the order they are read.
import { verdictToken } from '@setwell/shared-models/api/floor';
import type { LoadAmended } from '@setwell/shared-models/record/bodies';
import type { LotFile, LotLoad } from '@setwell/shared-models/record/lot-file';
import { retentionOf, usualLotFileYears } from '@setwell/shared-models/record/retention';
import type { LoadTrace, ScoreInput } from '@setwell/shared-models/score/shape';
import type { SignedCheckpoint } from '../ledger/shape.ts';
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
}

const verdictWords = {
  'not-yet': 'Not yet',
  'in-window': 'In window',
  under: 'Undercured',
  over: 'Overcured',
  unproven: 'Unproven',
} as const;

const stateWords: Record<LotFile['state'], string> = {
  'in-work': 'in work',
  held: 'on hold',
  released: 'released',
  'release-questioned': 'released, and an account has changed since: the release is questioned',
  scrapped: 'scrapped',
};

/** A lot's record for reading: page by page, in black on white. */
export function recordPdf(print: RecordPrint): Promise<Buffer> {
  const { file, by, atMs } = print;
  const { lot, site } = file;
  const pdf = openPdf(`Lot ${printable(lot)}`, atMs);
  return pdfBytes(pdf, async () => {
    overview(pdf, print);
    for (const load of file.loads) {
      const input = print.inputs.get(load.load);
      if (!input) continue;
      const trace = (await print.traces.get(load.load)) ?? null;
      loadSection(pdf, load, input, trace, file.site.timeZone);
    }
    trail(pdf, file);
    const printed = `${site.title} · times in ${site.timeZone} · ${localTime(atMs, site.timeZone)} · printed by ${by}`;
    const changed = file.loads.some(({ revisions }) => revisions.length > 1);
    framePages(pdf, { title: `Setwell · Lot ${lot}`, printed, changed, demo: site.demo });
  });
}

function overview(pdf: Pdf, { file, checkpoint, inputs }: RecordPrint): void {
  const { lot, loads, state, site } = file;
  pdf
    .font('strong')
    .fontSize(20)
    .text(printable(`Lot ${lot}`), page.left, page.top);
  pdf.font('text').fontSize(10);
  const counted = loads.length === 1 ? '1 load' : `${String(loads.length)} loads`;
  paragraph(pdf, `${counted} · ${stateWords[state]}`);
  if (site.demo) paragraph(pdf, 'DEMO: this plant, its loads and its numbers are invented.');
  const { hold, dropped } = retentionOf(file.entries, usualLotFileYears);
  if (hold) {
    const since = localTime(hold.atMs, site.timeZone);
    paragraph(
      pdf,
      `Legal hold since ${since} by ${hold.by}, entry ${String(hold.n)}: nothing is deleted. ${hold.reason}`,
    );
  }
  if (dropped) {
    const at = localTime(dropped.atMs, site.timeZone);
    paragraph(
      pdf,
      `${String(dropped.documents)} documents were deleted after their time on ${at}, entry ${String(dropped.n)}. The entries are here; what those documents led to cannot be computed again.`,
    );
  }
  heading(pdf, 'Loads');
  for (const load of loads) loadRow(pdf, load, site.timeZone);
  coatStacks(pdf, file.coats, verdictWords);
  heading(pdf, 'What is proven', 120);
  paragraph(
    pdf,
    'Since the checkpoint below nothing of this record has changed. Anyone can repeat the computation with the model named. That the sensors told the truth, and that nothing was added after that checkpoint, this sheet cannot show. Heat proven is not bond strength.',
  );
  if (checkpoint) {
    pdf.moveDown(0.4);
    paragraph(pdf, `checkpoint  ${checkpoint.origin}`, 8.5);
    paragraph(pdf, `entries  ${String(checkpoint.size)}`, 8.5);
    paragraph(pdf, `root  ${checkpoint.root}`, 8.5);
    paragraph(pdf, `key  ${checkpoint.key}`, 8.5);
    paragraph(pdf, `at  ${localTime(checkpoint.atMs, site.timeZone)}`, 8.5);
  }
  const drawn = loads.filter(({ load }) => inputs.has(load)).length;
  const sealed = loads.filter(({ revision }) => revision !== null).length;
  if (drawn < sealed && !dropped) {
    pdf.moveDown(0.4);
    paragraph(
      pdf,
      `Pages of their own have ${String(drawn)} of ${String(sealed)} loads, those with the least margin; the bundle holds all.`,
      8.5,
    );
  }
  safety(pdf, loads);
}

function loadRow(pdf: Pdf, load: LotLoad, timeZone: string): void {
  keepTogether(pdf, 46);
  const y = pdf.y + 4;
  const token = verdictToken(load);
  drawSign(pdf, token, page.left, y - 2);
  pdf
    .font('strong')
    .fontSize(10)
    .text(verdictWords[token], page.left + 32, y, { lineBreak: false });
  pdf.font('text').fontSize(8.5).fillColor(soft);
  pdf.text(printable(`${load.station} · ${load.load}`), page.left + 32, y + 12, {
    width: 140,
    lineBreak: false,
  });
  const from = localTime(load.startMs, timeZone);
  const to = load.endMs === null ? 'running' : localTime(load.endMs, timeZone).slice(11);
  pdf.text(`${from} – ${to}`, page.left + 32, y + 22, { lineBreak: false });
  pdf.fillColor('#111111');
  const worst = worstPlace(load);
  if (worst && load.window) {
    drawCureBar(pdf, worst, load.window, load.unit ?? '', {
      ...{ x: page.left + 250, y: y + 3, width: pageWidth - 250, numbers: true },
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
  input: ScoreInput,
  trace: LoadTrace | null,
  timeZone: string,
): void {
  pdf.addPage();
  const token = verdictToken(load);
  pdf.font('strong').fontSize(15);
  pdf.text(printable(`${load.load} · ${load.station}`), page.left, page.top);
  pdf.font('text').fontSize(10);
  const worst = worstPlace(load);
  paragraph(pdf, sentenceOf(load, timeZone));
  if (worst && load.window) {
    const y = pdf.y + 8;
    drawSign(pdf, token, page.left, y - 3);
    drawCureBar(pdf, worst, load.window, load.unit ?? '', {
      ...{ x: page.left + 34, y, width: pageWidth - 34, numbers: true },
    });
    pdf.y = y + 30;
    pdf.x = page.left;
  }
  if (trace && load.window) {
    const changes = changeMarks(input);
    drawCharts(pdf, { trace, window: load.window, unit: load.unit ?? '', changes });
  }
  placesTable(pdf, load);
  requirementsTable(pdf, load);
  budgetTable(pdf, load);
  instrumentsTable(pdf, input, timeZone);
  revisionsTable(pdf, load, timeZone);
}

function sentenceOf(load: LotLoad, timeZone: string): string {
  const { recipe, revision, sealedBy, model, readings, quality, marks, parts } = load;
  const time = (ms: number) => localTime(ms, timeZone);
  const mark = (name: string, at: { earliestMs: number; latestMs: number } | null) => {
    if (!at) return '';
    const doubt = at.latestMs > at.earliestMs ? ` to ${time(at.latestMs).slice(11)}` : '';
    return `${name} ${time(at.earliestMs)}${doubt}. `;
  };
  const parted = parts.length > 0 ? `Parts ${parts.join(', ')}. ` : '';
  const by = recipe ? `Recipe ${recipe.id}, revision ${String(recipe.revision)}. ` : 'No recipe. ';
  const assumed = marks.pressureOn.assumed === true ? ' (assumed: taken from start and end)' : '';
  const known =
    model?.number === null || model === null
      ? 'by code without a number, never released'
      : `by model ${String(model.number)}`;
  return (
    by +
    parted +
    mark('Contact', marks.contact) +
    mark(`Counted from${assumed}`, marks.pressureOn) +
    mark('Counted to', marks.releaseStart) +
    `Account ${String(revision)}, ${known}, ${sealedBy === 'deadline' ? 'sealed at the deadline: not every sensor had spoken' : 'sealed with all readings in'}. ` +
    `${String(readings?.count ?? 0)} readings, ${String(quality?.doubtful ?? 0)} doubtful, ${String(quality?.conflicts ?? 0)} in conflict, ${String(quality?.gaps ?? 0)} gaps.`
  );
}

function placesTable(pdf: Pdf, load: LotLoad): void {
  if (load.places.length === 0) return;
  heading(pdf, 'Places, worst first');
  const { window } = load;
  const margin = ({ low, high }: { low: number; high: number }) =>
    Math.min(low - (window?.least ?? 0), (window?.most ?? Infinity) - high);
  const sorted = [...load.places].sort((a, b) => margin(a) - margin(b)).slice(0, 12);
  const rows = sorted.map((place) => [
    place.zone,
    place.glueLine === null ? '' : String(place.glueLine),
    place.depthMm === null ? '' : place.depthMm.toFixed(2),
    told(place.low),
    told(place.nominal),
    told(place.high),
    verdictWords[place.verdict],
  ]);
  const unit = load.unit ?? '';
  table(
    pdf,
    [90, 60, 70, 70, 70, 70, 70],
    [['zone', 'glue line', 'depth mm', `low ${unit}`, 'nominal', 'high', 'verdict'], ...rows],
  );
}

function requirementsTable(pdf: Pdf, load: LotLoad): void {
  if (load.requirements.length === 0) return;
  heading(pdf, 'Requirements, and how each is known');
  const rows = load.requirements.map(({ kind, coveredBy, procedure, verdict, evidence }) => [
    kind,
    coveredBy === 'not-monitored'
      ? `nobody here measures it; ${procedure === null ? 'no procedure is named' : `covered by ${procedure}`}`
      : coveredBy,
    verdict === 'not-monitored' ? 'not monitored' : verdictWords[verdict],
    evidenceText(evidence ?? ''),
  ]);
  table(pdf, [100, 190, 80, 129], [['requirement', 'known by', 'verdict', 'evidence'], ...rows]);
}

/** A result says every digit that it has computed; a sheet says those that count. */
function evidenceText(evidence: string): string {
  return evidence.replaceAll(/\d{1,15}\.\d{4,20}/g, (number) => Number(number).toFixed(2));
}

function budgetTable(pdf: Pdf, load: LotLoad): void {
  if (load.budget.length === 0) return;
  heading(pdf, 'Why this wide: what each doubt costs at the worst place');
  const rows = load.budget.map(({ term, down, up, unit }) => [
    term,
    `${told(Math.abs(down))} ${unit}`,
    `${told(Math.abs(up))} ${unit}`,
  ]);
  table(pdf, [150, 120, 120], [['doubt', 'lowers by', 'raises by'], ...rows]);
  const { place } = load;
  if (place === undefined) return;
  const { survey, placeK, by, n } = place;
  paragraph(
    pdf,
    `place: survey ${survey} says ± ${placeK.toFixed(1)} K, approved by ${by}, entry ${String(n)}; the larger of this and the recipe’s counts.`,
    8.5,
  );
}

function revisionsTable(pdf: Pdf, load: LotLoad, timeZone: string): void {
  heading(pdf, `Accounts: changed since original: ${load.revisions.length > 1 ? 'yes' : 'no'}`);
  const rows = load.revisions.map(({ n, atMs, revision, because, verdict, result }) => [
    String(revision),
    String(n),
    localTime(atMs, timeZone),
    because === null ? 'sealed' : becauseWords(because),
    verdictWords[verdict],
    `${result.slice(0, 16)}…`,
  ]);
  table(
    pdf,
    [50, 45, 130, 100, 70, 104],
    [['account', 'entry', 'at', 'because', 'verdict', 'SHA-256 of result'], ...rows],
  );
}

function becauseWords(because: LoadAmended['because']): string {
  if (because === 'late') return 'late readings';
  if (because === 'conflict') return 'readings in conflict';
  if (because === 'evidence') return 'late evidence';
  if (because === 'upstream') return 'an earlier bake changed';
  return `act by ${because.act.by}`;
}

/** What people did and what was called, in the order it happened. */
function trail(pdf: Pdf, file: LotFile): void {
  const { timeZone } = file.site;
  const decided = [...file.dispositions, ...file.loads.flatMap(({ dispositions }) => dispositions)];
  const rows = decided
    .sort((a, b) => a.n - b.n)
    .map(({ n, by, atMs, body }) => {
      const { decision = '', reason = '' } = body as { decision?: string; reason?: string };
      return [String(n), localTime(atMs, timeZone), by, decision, reason];
    });
  const calls = file.loads.flatMap((load) => load.calls);
  if (rows.length > 0) {
    pdf.addPage();
    heading(pdf, 'What people decided');
    table(pdf, [45, 130, 90, 80, 154], [['entry', 'at', 'by', 'decision', 'reason'], ...rows]);
  }
  if (calls.length > 0) {
    if (rows.length === 0) pdf.addPage();
    heading(pdf, 'Calls');
    table(
      pdf,
      [45, 130, 110, 90, 124],
      [
        ['entry', 'raised', 'call', 'load', 'taken by'],
        ...calls.map(({ n, atMs, raised, acknowledged }) => [
          String(n),
          localTime(atMs, timeZone),
          raised.kind,
          raised.load ?? '',
          acknowledged?.by ?? 'nobody',
        ]),
      ],
    );
  }
}

/** Where the work is hot, once, calm. */
function safety(pdf: Pdf, loads: LotLoad[]): void {
  if (loads.length === 0) return;
  pdf.moveDown(0.6);
  paragraph(
    pdf,
    'Hot surfaces burn on touch; wood glues and paints can give off formaldehyde, solvents or isocyanates. Follow the safety data sheet, your employer’s rules and the local code; licensed people judge. Setwell advises; it opens and locks nothing.',
    8.5,
  );
}
