// Longer than the limit because a fold is one piece: its tables, what goes in and what is read from them.
import Database from 'better-sqlite3';
import { floorCall, type FloorCall } from '@setwell/shared-models/api/floor';
import type { ApprovedRecipe, LotRow } from '@setwell/shared-models/api/dashboard';
import type { Newest } from '@setwell/shared-models/api/records';
import type { Found } from '@setwell/shared-models/api/search';
import { nextCall, type Call } from '@setwell/shared-models/call/call';
import type { LoadOpened, RecipeApproved } from '@setwell/shared-models/record/bodies';
import type { LotFileDropped, StationSet } from '@setwell/shared-models/record/act-bodies';
import type { Entry, EntryKind } from '@setwell/shared-models/record/entry';
import { waitsForDecision } from '@setwell/shared-models/record/decisions';
import { isAccount } from '@setwell/shared-models/record/lot-file';
import { unnamedLot } from '@setwell/shared-models/record/unnamed-lot';
import { nextLoad, openedLoad, type LoadView } from './load-view.ts';

/** A new number drops the view and folds it anew: it holds nothing of its own. */
const schemaVersion = 7;

const schema = `
  CREATE TABLE entry (
    log TEXT NOT NULL, n INTEGER NOT NULL, kind TEXT NOT NULL, by TEXT NOT NULL, at_ms INTEGER NOT NULL,
    load TEXT, lot TEXT, bytes TEXT NOT NULL, PRIMARY KEY (log, n)) STRICT, WITHOUT ROWID;
  CREATE INDEX entry_load ON entry (load) WHERE load IS NOT NULL;
  CREATE INDEX entry_lot ON entry (lot) WHERE lot IS NOT NULL;
  CREATE INDEX entry_kind ON entry (kind, at_ms);
  CREATE INDEX entry_person ON entry (by, load) WHERE load IS NOT NULL;
  CREATE TABLE load (
    id TEXT PRIMARY KEY, station TEXT NOT NULL, lot TEXT NOT NULL, verdict TEXT NOT NULL,
    state TEXT NOT NULL, start_ms INTEGER NOT NULL, end_ms INTEGER, undecided INTEGER NOT NULL, held INTEGER NOT NULL,
    doc TEXT NOT NULL) STRICT, WITHOUT ROWID;
  CREATE INDEX load_start ON load (start_ms DESC, id DESC, state, end_ms);
  CREATE INDEX load_lot ON load (lot, start_ms, state, verdict, undecided, station);
  CREATE INDEX load_open ON load (id) WHERE state = 'open';
  CREATE INDEX load_held ON load (start_ms DESC, id) WHERE held = 1;
  CREATE INDEX load_missed ON load (start_ms DESC, id DESC)
    WHERE state NOT IN ('open', 'void') AND verdict <> 'in-window';
  CREATE TABLE lot (
    lot TEXT PRIMARY KEY, loads INTEGER NOT NULL, open INTEGER NOT NULL, firstMs INTEGER NOT NULL,
    lastMs INTEGER NOT NULL, held INTEGER NOT NULL, under INTEGER NOT NULL, over INTEGER NOT NULL,
    unproven INTEGER NOT NULL, inWindow INTEGER NOT NULL, stations TEXT NOT NULL) STRICT, WITHOUT ROWID;
  CREATE INDEX lot_place ON lot (held > 0 DESC, open > 0 DESC, lastMs DESC, lot);
  CREATE TABLE part (
    part TEXT NOT NULL, load TEXT NOT NULL, PRIMARY KEY (part, load)) STRICT, WITHOUT ROWID;
  CREATE INDEX part_load ON part (load);
  CREATE TABLE call (
    id TEXT PRIMARY KEY, raised_ms INTEGER NOT NULL, open INTEGER NOT NULL, doc TEXT NOT NULL) STRICT, WITHOUT ROWID;
  CREATE INDEX call_raised ON call (raised_ms DESC, id);
  CREATE INDEX call_open ON call (id) WHERE open = 1;
  CREATE TABLE recipe (
    id TEXT NOT NULL, revision INTEGER NOT NULL, doc TEXT NOT NULL,
    PRIMARY KEY (id, revision)) STRICT, WITHOUT ROWID;
  CREATE TABLE lot_load (
    lot TEXT NOT NULL, log TEXT NOT NULL, load TEXT NOT NULL, until INTEGER,
    PRIMARY KEY (lot, log, load)) STRICT, WITHOUT ROWID;
  CREATE TABLE blob (id INTEGER PRIMARY KEY, sha256 TEXT NOT NULL UNIQUE, bytes BLOB NOT NULL) STRICT;
`;

/** More held loads than a hall has places for them. */
const heldAtMost = 500;

/** Documents at hand, some ten to a hundred KB each; older ones are fetched again when they are asked for. */
const mostBlobs = 2_000;

export interface LoadFilter {
  lot?: string | undefined;
  station?: string | undefined;
  verdict?: string | undefined;
  fromMs?: number | undefined;
  toMs?: number | undefined;
  /** Position after which to go on: start time and id of the last load seen. */
  after?: { startMs: number; id: string } | undefined;
  limit: number;
}

export interface CallFilter {
  limit: number;
  /** Time and id of the last call seen. */
  after?: [number, string] | undefined;
  station?: string | undefined;
  fromMs?: number | undefined;
  toMs?: number | undefined;
}

/** What a name is compared with, by kind of what bears it; each may be read from an index alone. */
const namedBy: ((compared: string) => string)[] = [
  (compared) => `SELECT 'lot' AS kind, lot AS id, lot AS at, NULL AS load, lastMs, stations
    FROM lot WHERE lot ${compared} AND lot <> ''`,
  (
    compared,
  ) => `SELECT 'load' AS kind, id, id AS at, NULL AS load, start_ms AS lastMs, station AS stations
    FROM load WHERE id IN (SELECT id FROM load WHERE id ${compared}) AND state <> 'void'`,
  // A part of no lot has no page of its own: it leads to its newest load.
  (compared) => `SELECT 'part' AS kind, part AS id, lot AS at,
    CASE lot WHEN '' THEN load.id END AS load, MAX(start_ms) AS lastMs,
    GROUP_CONCAT(DISTINCT station) AS stations FROM part JOIN load ON load.id = part.load
    WHERE part ${compared} AND state <> 'void' GROUP BY part, lot`,
];

/** Before this nothing began that may lie somewhere still [ms]. */
const longestRestMs = 60 * 24 * 3_600_000;

/** Where a lot stands in the list: held, in work, newest start, name. */
export type LotPlace = [number, number, number, string];

export function lotPlace({ held, open, lastMs, lot }: LotRow): LotPlace {
  return [held > 0 ? 1 : 0, open > 0 ? 1 : 0, lastMs, lot];
}

/** What an entry changed, so that screens are told and nothing is read twice. */
export interface Changed {
  loads: Map<string, LoadView>;
  calls: Map<string, FloorCall>;
}

/**
 * The dashboard's own fold of the followed ledgers. May be deleted at any time; folded again it is the same.
 */
export class ViewDb {
  readonly #db: Database.Database;
  /** By their text: a fold of years runs each of them millions of times. */
  readonly #statements = new Map<string, Database.Statement>();
  /** Within a fold: their rows are made once at its end. */
  readonly #lotsChanged = new Set<string>();
  /** Loads without a lot are many: they are counted when somebody asks. */
  #countsUnnamed = true;

  constructor(file: string) {
    this.#db = new Database(file);
    this.#db.pragma('journal_mode = WAL');
    this.#db.pragma('synchronous = NORMAL'); // a fold: what a power cut takes is followed again
    if (this.#db.pragma('user_version', { simple: true }) !== schemaVersion) this.rebuild();
  }

  /** Forgets everything; the ledger is then followed from its first entry. */
  rebuild(): void {
    const tables = this.#db
      .prepare<[], { name: string }>("SELECT name FROM sqlite_schema WHERE type = 'table'")
      .all();
    this.#statements.clear();
    this.#db.transaction(() => {
      for (const { name } of tables) this.#db.exec(`DROP TABLE "${name}"`);
      this.#db.exec(schema);
      this.#db.pragma(`user_version = ${schemaVersion}`);
    })();
  }

  #prepared<Given extends unknown[] | object = unknown[], Row = unknown>(
    sql: string,
  ): Database.Statement<Given extends unknown[] ? Given : [Given], Row> {
    const known = this.#statements.get(sql) ?? this.#db.prepare(sql);
    this.#statements.set(sql, known);
    return known as unknown as Database.Statement<Given extends unknown[] ? Given : [Given], Row>;
  }

  close(): void {
    this.#db.close();
  }

  /** Greatest entry number of a log with its bytes; null while nothing was followed. */
  last(log: string): { n: number; bytes: string } | null {
    return (
      this.#prepared<[string], { n: number; bytes: string }>(
        'SELECT n, bytes FROM entry WHERE log = ? ORDER BY n DESC LIMIT 1',
      ).get(log) ?? null
    );
  }

  /** Folds lines of a followed ledger in one transaction; lines already known change nothing. */
  fold(lines: string[]): Changed {
    const changed: Changed = { loads: new Map(), calls: new Map() };
    this.#db.transaction(() => {
      for (const line of lines) this.#foldLine(line, changed);
      for (const lot of this.#lotsChanged) {
        if (lot === unnamedLot) this.#countsUnnamed = true;
        else this.#keepLot(lot);
      }
    })();
    this.#lotsChanged.clear();
    return changed;
  }

  #foldLine(line: string, changed: Changed): void {
    const entry = JSON.parse(line) as Entry;
    const { log, n, kind, by, at, about } = entry;
    const load = about.load ?? null;
    const stored = this.#prepared(
      `INSERT INTO entry (log, n, kind, by, at_ms, load, lot, bytes) VALUES (?, ?, ?, ?, ?, ?, ?, ?)
         ON CONFLICT DO NOTHING`,
    ).run(log, n, kind, by, at, load, about.lots?.[0] ?? null, line);
    if (stored.changes === 0) return;
    switch (entry.kind) {
      case 'load-opened': {
        const opened = openedLoad(entry as Entry<LoadOpened>);
        this.#keepLoad(opened, changed);
        this.#keepParts(load);
        this.#putIntoLot(opened, entry);
        return;
      }
      case 'lot-file-dropped':
        this.#forgetBlobs((entry.body as LotFileDropped).lot);
        return;
      case 'advice-changed':
      case 'load-ended':
      case 'load-sealed':
      case 'load-amended':
      case 'load-faulted':
      case 'load-corrected':
      case 'disposition': {
        const before = load === null ? null : this.load(load);
        if (before === null) return;
        const next = nextLoad(before, entry);
        this.#keepLoad(next, changed);
        if (entry.kind === 'load-corrected') this.#keepParts(load);
        if (next.lot === before.lot) return;
        this.#lotsChanged.add(before.lot);
        // The correction itself belongs to both.
        this.#prepared('UPDATE lot_load SET until = ? WHERE lot = ? AND log = ? AND load = ?').run(
          entry.n,
          before.lot,
          entry.log,
          before.id,
        );
        this.#putIntoLot(next, entry);
        return;
      }
      case 'call-raised':
      case 'call-acknowledged':
      case 'call-shelved':
      case 'call-unshelved':
      case 'call-handed-on':
      case 'call-returned':
      case 'call-cleared': {
        const before = this.#call(entry.about.call ?? '');
        const next = nextCall(before ?? undefined, entry);
        if (next !== undefined) this.#keepCall(next, changed);
        return;
      }
      case 'recipe-approved': {
        const { recipe } = entry.body as RecipeApproved;
        const doc = JSON.stringify({ ...recipe, approvedMs: entry.at, approvedBy: entry.by });
        this.#prepared(
          'INSERT INTO recipe VALUES (?, ?, ?) ON CONFLICT DO UPDATE SET doc = excluded.doc',
        ).run(recipe.id, recipe.revision, doc);
        return;
      }
      default:
        return;
    }
  }

  /** From now on, and with all that was said of it before. */
  #putIntoLot({ id, lot }: LoadView, { log }: Entry): void {
    this.#prepared(
      `INSERT INTO lot_load (lot, log, load, until) VALUES (?, ?, ?, NULL)
         ON CONFLICT DO UPDATE SET until = NULL`,
    ).run(lot, log, id);
  }

  /** The documents of a lot's accounts; one that another lot names too is fetched again. */
  #forgetBlobs(lot: string): void {
    const forget = this.#prepared('DELETE FROM blob WHERE sha256 = ?');
    for (const entry of this.entriesOfLot(lot)) {
      if (!isAccount(entry)) continue;
      const { input, readings, result, doubtful } = entry.body;
      for (const { sha256 } of [input, readings, result, ...(doubtful ? [doubtful] : [])]) {
        forget.run(sha256);
      }
    }
  }

  #keepLoad(load: LoadView, changed: Changed): void {
    this.#prepared(
      `INSERT INTO load (id, station, lot, verdict, state, start_ms, end_ms, undecided, held, doc)
         VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
         ON CONFLICT DO UPDATE SET station = excluded.station, lot = excluded.lot,
           verdict = excluded.verdict, state = excluded.state, start_ms = excluded.start_ms,
           end_ms = excluded.end_ms, undecided = excluded.undecided, held = excluded.held, doc = excluded.doc`,
    ).run(
      load.id,
      load.station,
      load.lot,
      load.verdict,
      load.voided === null ? load.state : 'void',
      load.startMs,
      load.endMs,
      waitsForDecision(load) ? 1 : 0,
      load.decisions.hold === null ? 0 : 1,
      JSON.stringify(load),
    );
    changed.loads.set(load.id, load);
    this.#lotsChanged.add(load.lot);
  }

  #keepLot(lot: string): void {
    this.#prepared('DELETE FROM lot WHERE lot = ?').run(lot);
    this.#prepared(
      `INSERT INTO lot
         SELECT lot, COUNT(*), SUM(state = 'open'), MIN(start_ms), MAX(start_ms), SUM(undecided),
           SUM(state <> 'open' AND verdict = 'under'), SUM(state <> 'open' AND verdict = 'over'),
           SUM(state <> 'open' AND verdict = 'unproven'), SUM(state <> 'open' AND verdict = 'in-window'),
           GROUP_CONCAT(DISTINCT station)
         FROM load WHERE lot = ? AND state <> 'void' GROUP BY lot`,
    ).run(lot);
  }

  /** The parts of a load by name, as they are known now. */
  #keepParts(id: string | null): void {
    const load = id === null ? null : this.load(id);
    if (load === null) return;
    this.#prepared('DELETE FROM part WHERE load = ?').run(load.id);
    const insert = this.#prepared('INSERT INTO part VALUES (?, ?) ON CONFLICT DO NOTHING');
    for (const part of load.parts) insert.run(part, load.id);
  }

  #keepCall(call: Call, changed: Changed): void {
    this.#prepared(
      `INSERT INTO call (id, raised_ms, open, doc) VALUES (?, ?, ?, ?)
         ON CONFLICT DO UPDATE SET raised_ms = excluded.raised_ms, open = excluded.open, doc = excluded.doc`,
    ).run(call.id, call.atMs, call.cleared === null ? 1 : 0, JSON.stringify(call));
    changed.calls.set(call.id, floorCall(call));
  }

  load(id: string): LoadView | null {
    return docOf<LoadView>(
      this.#prepared<[string], { doc: string }>('SELECT doc FROM load WHERE id = ?').get(id),
    );
  }

  /** Newest first. */
  loads(filter: LoadFilter): LoadView[] {
    const where = ["state <> 'void'"];
    const values: (string | number)[] = [];
    const add = (clause: string, ...of: (string | number)[]): void => {
      where.push(clause);
      values.push(...of);
    };
    if (filter.lot !== undefined) add('lot = ?', filter.lot);
    if (filter.station !== undefined) add('station = ?', filter.station);
    if (filter.verdict !== undefined) add('verdict = ?', filter.verdict);
    if (filter.fromMs !== undefined) add('start_ms >= ?', filter.fromMs);
    if (filter.toMs !== undefined) add('start_ms <= ?', filter.toMs);
    if (filter.after !== undefined) {
      add('(start_ms, id) < (?, ?)', filter.after.startMs, filter.after.id);
    }
    return this.#prepared<(string | number)[], { doc: string }>(
      `SELECT doc FROM load WHERE ${where.join(' AND ')} ORDER BY start_ms DESC, id DESC LIMIT ?`,
    )
      .all(...values, filter.limit)
      .map((row) => JSON.parse(row.doc) as LoadView);
  }

  /** All that a part of a lot was in, by start: what names it, and what is of the whole lot. */
  loadsOfPart(lot: string, part: string): LoadView[] {
    return this.#prepared<{ lot: string; part: string }, { doc: string }>(
      `SELECT start_ms, id, doc FROM load WHERE id IN (SELECT load FROM part WHERE part = :part)
           AND lot = :lot AND state <> 'void'
         UNION ALL
         SELECT start_ms, id, doc FROM load WHERE lot = :lot AND lot <> '' AND state <> 'void'
           AND NOT EXISTS (SELECT 1 FROM part WHERE part.load = load.id)
         ORDER BY 1, 2`,
    )
      .all({ lot, part })
      .map((row) => JSON.parse(row.doc) as LoadView);
  }

  /** Names of all loads of a time, those whose start was taken back among them. */
  loadNames(fromMs: number, toMs: number): string[] {
    return this.#namesOf('1 = 1', fromMs, toMs);
  }

  /** Names of all loads of a time that have come out. */
  endedNames(fromMs: number, toMs: number): string[] {
    return this.#namesOf("state NOT IN ('open', 'void')", fromMs, toMs);
  }

  #namesOf(where: string, fromMs: number, toMs: number): string[] {
    return this.#prepared<[number, number], string>(
      `SELECT id FROM load WHERE ${where} AND start_ms BETWEEN ? AND ?`,
    )
      .pluck()
      .all(fromMs, toMs);
  }

  /** Loads of a time that came out and are not in their window. */
  notInWindow(fromMs: number, toMs: number, limit: number): Newest<LoadView> {
    const where = `state NOT IN ('open', 'void') AND verdict <> 'in-window' AND start_ms BETWEEN ? AND ?`;
    const rows = this.#prepared<[number, number, number], string>(
      `SELECT doc FROM load WHERE ${where} ORDER BY start_ms DESC, id DESC LIMIT ?`,
    )
      .pluck()
      .all(fromMs, toMs, limit)
      .map((doc) => JSON.parse(doc) as LoadView);
    const counted = this.#prepared<[number, number], number>(
      `SELECT COUNT(*) FROM load WHERE ${where}`,
    );
    return newestOf(rows, counted.pluck().get(fromMs, toMs) ?? 0);
  }

  /** Loads that lay in a station at any moment of a time; a rest takes weeks. */
  lying(fromMs: number, toMs: number): LoadView[] {
    return this.#prepared<[number, number, number], string>(
      `SELECT doc FROM load WHERE start_ms BETWEEN ? AND ? AND state <> 'void'
           AND (end_ms IS NULL OR end_ms >= ?)`,
    )
      .pluck()
      .all(fromMs - longestRestMs, toMs, fromMs)
      .map((doc) => JSON.parse(doc) as LoadView);
  }

  /** Loads that nobody may use before somebody has decided, newest first. */
  heldLoads(): LoadView[] {
    return this.#prepared<[number], { doc: string }>(
      `SELECT doc FROM load WHERE held = 1
         ORDER BY start_ms DESC, id LIMIT ?`,
    )
      .all(heldAtMost)
      .map((row) => JSON.parse(row.doc) as LoadView);
  }

  openLoads(): LoadView[] {
    return this.#prepared<[], { doc: string }>("SELECT doc FROM load WHERE state = 'open'")
      .all()
      .map((row) => JSON.parse(row.doc) as LoadView);
  }

  call(id: string): FloorCall | null {
    const call = this.#call(id);
    return call === null ? null : floorCall(call);
  }

  #call(id: string): Call | null {
    return docOf<Call>(
      this.#prepared<[string], { doc: string }>('SELECT doc FROM call WHERE id = ?').get(id),
    );
  }

  openCalls(): FloorCall[] {
    return this.#prepared<[], { doc: string }>('SELECT doc FROM call WHERE open = 1')
      .all()
      .map((row) => floorCall(JSON.parse(row.doc) as Call));
  }

  /** Newest first. */
  calls(filter: CallFilter): FloorCall[] {
    const { limit, after, station, fromMs, toMs } = filter;
    const where = ['1 = 1'];
    const values: (string | number)[] = [];
    const add = (clause: string, ...of: (string | number)[]): void => {
      where.push(clause);
      values.push(...of);
    };
    if (after) add('(raised_ms < ? OR (raised_ms = ? AND id > ?))', after[0], after[0], after[1]);
    if (station !== undefined) add("doc ->> '$.raised.station' = ?", station);
    if (fromMs !== undefined) add('raised_ms >= ?', fromMs);
    if (toMs !== undefined) add('raised_ms <= ?', toMs);
    return this.#prepared<(string | number)[], { doc: string }>(
      `SELECT doc FROM call WHERE ${where.join(' AND ')} ORDER BY raised_ms DESC, id LIMIT ?`,
    )
      .all(...values, limit)
      .map((row) => floorCall(JSON.parse(row.doc) as Call));
  }

  /** By what must happen: held first, then in work, then newest. */
  lots(limit: number, after?: LotPlace): LotRow[] {
    const [held, open, lastMs, lot] = after ?? [2, 2, 0, ''];
    if (this.#countsUnnamed) this.#keepLot(unnamedLot);
    this.#countsUnnamed = false;
    const rows = this.#prepared<unknown[], Omit<LotRow, 'stations'> & { stations: string }>(
      `SELECT * FROM lot
         WHERE (held > 0, open > 0, lastMs) < (:held, :open, :lastMs)
           OR ((held > 0, open > 0, lastMs) = (:held, :open, :lastMs) AND lot > :lot)
         ORDER BY held > 0 DESC, open > 0 DESC, lastMs DESC, lot LIMIT :limit`,
    ).all({ held, open, lastMs, lot, limit });
    return rows.map((row) => ({ ...row, stations: row.stations.split(',').sort() }));
  }

  /**
   * Lots, loads and parts whose name holds a text, capital or not: of each kind those that are it first,
   * then the newest.
   */
  named(text: string, limitOfEach: number): Found[] {
    const pattern = `%${text.replaceAll(/[\\%_]/g, '\\$&')}%`;
    return namedBy.flatMap((select) =>
      this.#found(
        `${select("LIKE :name ESCAPE '\\'")} ORDER BY id = :text COLLATE NOCASE DESC, lastMs DESC, id LIMIT :limit`,
        { name: pattern, text, limit: limitOfEach },
      ),
    );
  }

  /** Lots, loads and parts of this very name. */
  namedExactly(name: string): Found[] {
    return namedBy.flatMap((select) => this.#found(select('= :name'), { name }));
  }

  #found(sql: string, values: Record<string, string | number>): Found[] {
    return this.#prepared<
      [Record<string, string | number>],
      Omit<Found, 'stations' | 'load'> & { stations: string; load: string | null }
    >(sql)
      .all(values)
      .map(({ load, stations, ...found }) => ({
        ...found,
        ...(load === null ? {} : { load }),
        stations: stations.split(',').sort(),
      }));
  }

  recipes(): ApprovedRecipe[] {
    return this.#prepared<[], { doc: string }>('SELECT doc FROM recipe ORDER BY id, revision')
      .all()
      .map((row) => JSON.parse(row.doc) as ApprovedRecipe);
  }

  /** Lines of the ledger as followed, exact bytes. */
  entriesAfter(log: string, n: number, limit: number): { n: number; bytes: string }[] {
    return this.#prepared<[string, number, number], { n: number; bytes: string }>(
      'SELECT n, bytes FROM entry WHERE log = ? AND n > ? ORDER BY n LIMIT ?',
    ).all(log, n, limit);
  }

  /** Newest entries of some kinds since a time [ms], oldest first; the newest thousand at most. */
  entriesSince(log: string, fromMs: number, kinds: EntryKind[]): Entry[] {
    return this.#prepared<[string, string], { bytes: string }>(
      `SELECT bytes FROM entry WHERE log = ? AND kind IN (SELECT value FROM json_each(?))
         ORDER BY n DESC LIMIT 1000`,
    )
      .all(log, JSON.stringify(kinds))
      .map((row) => JSON.parse(row.bytes) as Entry)
      .filter(({ at }) => at >= fromMs)
      .reverse();
  }

  /** In order; of too many the newest five hundred. */
  entriesOfLoad(load: string): Entry[] {
    return this.#prepared<[string], { bytes: string }>(
      'SELECT bytes FROM entry WHERE load = ? ORDER BY log DESC, n DESC LIMIT 500',
    )
      .all(load)
      .map((row) => JSON.parse(row.bytes) as Entry)
      .reverse();
  }

  /** What is said of a load in some kinds, all of it, in order. */
  loadEntriesOfKinds(load: string, kinds: readonly EntryKind[]): Entry[] {
    return this.#prepared<[string, string], { bytes: string }>(
      `SELECT bytes FROM entry WHERE load = ? AND kind IN (SELECT value FROM json_each(?))
         ORDER BY log, n`,
    )
      .all(load, JSON.stringify(kinds))
      .map((row) => JSON.parse(row.bytes) as Entry);
  }

  /** Everything that is said of a lot and of its loads, while they are in it, in the order of its log. */
  entriesOfLot(lot: string): Entry[] {
    return this.#prepared<{ lot: string }, { bytes: string }>(
      `SELECT log, n, bytes FROM entry WHERE lot = :lot
         UNION
         SELECT e.log, e.n, e.bytes FROM lot_load AS l JOIN entry AS e ON e.log = l.log AND e.load = l.load
           WHERE l.lot = :lot AND (l.until IS NULL OR e.n <= l.until)
         ORDER BY 1, 2 LIMIT 20000`,
    )
      .all({ lot })
      .map((row) => JSON.parse(row.bytes) as Entry);
  }

  /** Entries of some kinds in a time, oldest first; of too many the newest. */
  entriesOfKinds(
    kinds: readonly string[],
    fromMs: number,
    toMs: number,
    limit: number,
  ): Newest<Entry> {
    const marks = kinds.map(() => '?').join(', ');
    const where = `kind IN (${marks}) AND at_ms BETWEEN ? AND ?`;
    const asked = [...kinds, fromMs, toMs];
    const rows = this.#entries(`${where} ORDER BY n DESC, log DESC LIMIT ?`, ...asked, limit);
    const counted = this.#prepared<(string | number)[], number>(
      `SELECT COUNT(*) FROM entry WHERE ${where}`,
    );
    return newestOf(rows.reverse(), counted.pluck().get(...asked) ?? 0);
  }

  /** Spans in which a station was out of service [ms]; the last one may not have ended. */
  outOfService(station: string): { fromMs: number; toMs: number }[] {
    const where = "kind = 'station-set' AND json_extract(bytes, '$.about.station') = ?";
    const spans: { fromMs: number; toMs: number }[] = [];
    for (const { at, body } of this.#entries(`${where} ORDER BY log, n`, station)) {
      const { state, untilMs } = body as StationSet;
      const last = spans.at(-1);
      if (last !== undefined) last.toMs = Math.min(last.toMs, at);
      if (state !== 'in-service') spans.push({ fromMs: at, toMs: untilMs ?? Infinity });
    }
    return spans;
  }

  /** Loads in which a person has done something. */
  loadsOfPerson(by: string): Set<string> {
    const rows = this.#prepared<[string], { load: string }>(
      'SELECT DISTINCT load FROM entry WHERE load IS NOT NULL AND by = ?',
    ).all(by);
    return new Set(rows.map(({ load }) => load));
  }

  #entries(where: string, ...values: (string | number)[]): Entry[] {
    return this.#prepared<(string | number)[], { bytes: string }>(
      `SELECT bytes FROM entry WHERE ${where}`,
    )
      .all(...values)
      .map((row) => JSON.parse(row.bytes) as Entry);
  }

  /** A document fetched once; it is named by its digest, so it never changes. */
  blob(sha256: string): Buffer | null {
    return (
      this.#prepared<[string], { bytes: Buffer }>('SELECT bytes FROM blob WHERE sha256 = ?').get(
        sha256,
      )?.bytes ?? null
    );
  }

  keepBlob(sha256: string, bytes: Buffer): void {
    this.#prepared('INSERT INTO blob (sha256, bytes) VALUES (?, ?) ON CONFLICT DO NOTHING').run(
      sha256,
      bytes,
    );
    this.#prepared('DELETE FROM blob WHERE id <= (SELECT MAX(id) FROM blob) - ?').run(mostBlobs);
  }
}

function newestOf<T>(rows: T[], count: number): Newest<T> {
  return { rows, count, isCut: rows.length < count };
}

function docOf<T>(row: { doc: string } | undefined): T | null {
  return row === undefined ? null : (JSON.parse(row.doc) as T);
}
