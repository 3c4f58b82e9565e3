import type { JudgedPlace } from '@setwell/shared-models/score/shape';
import type { LotFile, LotLoad } from '@setwell/shared-models/record/lot-file';
import { stringify } from 'csv-stringify/sync';
import { localTime } from './local-time.ts';
import type { PrintLanguage } from './print-words.ts';

const columns = [
  'lot',
  'load',
  'station',
  'opening',
  'parts',
  'recipe',
  'recipe_revision',
  'start_utc',
  'start_local',
  'end_utc',
  'end_local',
  'state',
  'verdict',
  'side',
  'zone',
  'glue_line',
  'depth_mm',
  'place_verdict',
  'low',
  'nominal',
  'high',
  'least',
  'most',
  'unit',
  'worst',
  'sealed_by',
  'revision',
  'readings',
  'readings_sha256',
  'result_sha256',
] as const;

/** What a spreadsheet of that language takes for columns and for numbers. */
const languages: Record<PrintLanguage, { delimiter: string; number: (value: number) => string }> = {
  en: { delimiter: ',', number: String },
  de: { delimiter: ';', number: (value) => String(value).replace('.', ',') },
};

type Row = Record<(typeof columns)[number], string | number | null>;

/**
 * A lot as a table: one row for each load and place, or one for a load without any.
 *
 * It begins with a byte order mark, by which spreadsheets know UTF-8. A cell that a spreadsheet would take for a formula begins with an apostrophe. Times stand twice, in
 * UTC and in the plant's own with its offset, for the doubled hour in autumn.
 */
export function lotCsv(file: LotFile, language: PrintLanguage = 'en'): string {
  const rows = file.loads.flatMap((load) =>
    load.places.length === 0
      ? [rowOf(file, load, null)]
      : load.places.map((place) => rowOf(file, load, place)),
  );
  const { delimiter, number } = languages[language];
  return stringify(rows, {
    ...{ header: true, columns: [...columns], escape_formulas: true, bom: true, delimiter },
    cast: { number },
  });
}

function rowOf({ lot, site }: LotFile, load: LotLoad, place: JudgedPlace | null): Row {
  const { worst, endMs, startMs } = load;
  const isWorst = place && worst && place.zone === worst.zone && place.glueLine === worst.glueLine;
  return {
    lot,
    load: load.load,
    station: load.station,
    opening: load.opening,
    parts: load.parts.join(' '),
    recipe: load.recipe?.id ?? null,
    recipe_revision: load.recipe?.revision ?? null,
    start_utc: new Date(startMs).toISOString(),
    start_local: localTime(startMs, site.timeZone),
    end_utc: endMs === null ? null : new Date(endMs).toISOString(),
    end_local: endMs === null ? null : localTime(endMs, site.timeZone),
    state: load.state,
    verdict: load.verdict,
    side: load.side,
    zone: place?.zone ?? null,
    glue_line: place?.glueLine ?? null,
    depth_mm: place?.depthMm ?? null,
    place_verdict: place?.verdict ?? null,
    low: place?.low ?? null,
    nominal: place?.nominal ?? null,
    high: place?.high ?? null,
    least: load.window?.least ?? null,
    most: load.window?.most ?? null,
    unit: load.unit,
    worst: isWorst ? 'yes' : null,
    sealed_by: load.sealedBy,
    revision: load.revision,
    readings: load.readings?.count ?? null,
    readings_sha256: load.readings?.sha256 ?? null,
    result_sha256: load.result,
  };
}
