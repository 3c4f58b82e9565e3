import type { ComponentChildren } from 'preact';
import { useEffect, useMemo, useState } from 'preact/hooks';
import type { FloorLoad } from '@setwell/shared-models/api/floor';
import type { JudgedPlace, LoadTrace, Quality, Seam } from '@setwell/shared-models/score/shape';
import { askTold } from '../ask.ts';
import { useAsked } from '../asked.ts';
import { degrees } from '../degrees.ts';
import { say } from '../language.ts';
import { wallNowMs } from '../live.ts';
import {
  bound,
  clockS,
  measureHigh,
  measureLow,
  number,
  placeText,
  shownTemperature,
  unitText,
} from '../phrase.ts';
import { useWidth } from '../width.ts';
import { DataStrip } from './data-strip.tsx';
import { GrowthPicture } from './growth-picture.tsx';
import { HeatPicture } from './heat-picture.tsx';
import { lineOf, type Line, type PictureProps } from './marks.tsx';
import { GrowthTable, HeatTable, SectionTable } from './picture-tables.tsx';
import { nearest, plotOf, type Span } from './plot.ts';
import { SectionPicture } from './section-picture.tsx';
import { SpanFields } from './span-fields.tsx';
import { farther, nearer, type Whole } from './span.ts';

/** A picture is asked anew at most this often while its load runs [ms of wall time]. */
const pictureEveryMs = 4_000;
/** What takes longer says how long, and may be called off [s]. */
const shownAfterS = 1;
/** Times a picture is drawn from: one every other pixel of a desk. */
const pointsAsked = 400;

/** One time of the pictures in words: what the cursor says where it stands. */
function spokenAt(trace: LoadTrace, line: Line | null, load: FloorLoad, at: number): string {
  const { cure, timesMs } = trace;
  const least = load.window?.least ?? 1;
  return say('picture.spoken', {
    clock: clockS(timesMs[at] ?? 0),
    place: line === null ? '' : placeText(line),
    low: shownTemperature(line?.lowC[at] ?? 0, 0),
    high: shownTemperature(line?.highC[at] ?? 0, 0),
    degrees: degrees.value,
    cureLow: measureLow(cure.low[at] ?? 0, least),
    cureHigh: measureHigh(cure.high[at] ?? 0, least),
    least: bound(least),
    unit: unitText(load.unit, true),
  });
}

/** Over a press faces and a glue line are drawn, elsewhere air and a part. */
function heatTitle(line: Line | null): string {
  const key = line?.glueLine === null ? 'picture.heatOfPart' : 'picture.heat';
  return say(key, { degrees: degrees.value });
}

/** One cursor for all pictures: what it stands on, in words, and the way to move it. */
function CursorField({
  spoken,
  at,
  end,
  onKey,
  point,
}: {
  spoken: string;
  at: number;
  end: number;
  onKey: (event: KeyboardEvent) => void;
  point: (at: number) => void;
}) {
  return (
    <label class="cursor-field">
      <span class="num">{spoken}</span>
      <input
        type="range"
        min="0"
        max={end}
        value={at}
        aria-label={say('picture.cursor')}
        aria-valuetext={spoken}
        onKeyDown={onKey}
        onInput={(event) => point(Number(event.currentTarget.value))}
      />
    </label>
  );
}

interface PicturesProps {
  trace: LoadTrace;
  load: FloorLoad;
  place: JudgedPlace | null;
  seams: readonly Seam[];
  span: Span;
  setSpan: (span: Span) => void;
}

function Pictures(props: PicturesProps) {
  const [ref, widthPx] = useWidth();
  return (
    <section class="pictures" aria-label={say('picture.label')} ref={ref}>
      {widthPx !== null && <DrawnPictures {...props} widthPx={widthPx} />}
    </section>
  );
}

/** A picture under its name, and beside that the way to its table. */
function Named({
  title,
  table,
  children,
}: {
  title: string;
  table: ComponentChildren;
  children: ComponentChildren;
}) {
  return (
    <>
      <div class="picture-head">
        <h2>{title}</h2>
        {table}
      </div>
      {children}
    </>
  );
}

function DrawnPictures({
  trace,
  load,
  place,
  seams,
  span,
  setSpan,
  widthPx,
}: PicturesProps & { widthPx: number }) {
  const [pointedMs, setPointedMs] = useState<number | null>(null);
  const { timesMs } = trace;
  const end = timesMs.length - 1;
  const at = pointedMs === null ? end : nearest(timesMs, pointedMs);
  const line = lineOf(trace, place);
  const plot = useMemo(() => plotOf(trace, load, widthPx, span), [trace, load, widthPx, span]);
  const cursorMs = timesMs[at] ?? plot.fromMs;
  const props: PictureProps = { trace, line, load, plot, cursorMs, seams };
  const whole: Whole = { fromMs: load.startMs, toMs: load.endMs ?? load.asOfMs };
  const spoken = spokenAt(trace, line, load, at);
  const { window } = load;
  const onKey = (event: KeyboardEvent): void => {
    if (event.key === '+') setSpan(nearer(whole, span, cursorMs));
    else if (event.key === '-') setSpan(farther(whole, span, cursorMs));
    else return;
    event.preventDefault();
  };
  return (
    <>
      <CursorField
        {...{ spoken, at, end, onKey }}
        point={(pointed) => setPointedMs(timesMs[pointed] ?? null)}
      />
      <Named title={heatTitle(line)} table={<HeatTable trace={trace} line={line} />}>
        <div class="plot">
          <HeatPicture {...props} />
        </div>
      </Named>
      {trace.section !== null && (
        <Named
          title={say('picture.section', { degrees: degrees.value })}
          table={<SectionTable trace={trace} />}
        >
          <SectionPicture {...props} />
        </Named>
      )}
      {window !== null && (
        <Named
          title={say('picture.growthAt', { place: line === null ? '' : placeText(line) })}
          table={<GrowthTable trace={trace} load={load} />}
        >
          <div class="plot">
            <GrowthPicture {...props} window={window} />
          </div>
        </Named>
      )}
      <div class="plot">
        <DataStrip trace={trace} load={load} plot={plot} span={span} />
      </div>
      <SpanFields whole={whole} span={span} cursorMs={cursorMs} setSpan={setSpan} />
    </>
  );
}

/** Where a picture's answer is asked for: a place, and a part of the time. */
function addressOf(load: string, place: JudgedPlace | null, span: Span): string {
  const asked = new URLSearchParams({ points: String(pointsAsked), told: '1' });
  if (place !== null) {
    asked.set('zone', place.zone);
    if (place.glueLine !== null) asked.set('glueLine', String(place.glueLine));
  }
  if (span !== null) {
    asked.set('from', String(span.fromMs));
    asked.set('to', String(span.toMs));
  }
  return `/loads/${encodeURIComponent(load)}/series?${asked.toString()}`;
}

/** The trace of a load at a place, asked anew while the load runs; what was there stays meanwhile. */
export function useTrace(
  load: FloorLoad,
  place: JudgedPlace | null,
  span: Span,
): { trace: LoadTrace | null; error: Error | null; share: number | null } {
  const [turn, setTurn] = useState(0);
  const running = load.state === 'open';
  useEffect(() => {
    if (!running) return;
    const timer = setInterval(() => setTurn((n) => n + 1), pictureEveryMs);
    return () => clearInterval(timer);
  }, [running]);
  const [share, setShare] = useState<number | null>(null);
  const [how] = useState(
    () => (address: string, signal: AbortSignal) => askTold<LoadTrace>(address, signal, setShare),
  );
  const { value, error } = useAsked<LoadTrace>(
    addressOf(load.load, place, span),
    `${turn} ${load.state}`,
    how,
  );
  const [kept, setKept] = useState<LoadTrace | null>(null);
  useEffect(() => {
    if (value !== null) setKept(value);
    setShare(null);
  }, [value]);
  return { trace: value ?? kept, error, share };
}

interface LoadPicturesProps {
  load: FloorLoad;
  place: JudgedPlace | null;
  /** Null: nothing is known of its readings yet. */
  quality: Quality | null;
}

/** What is waited for, how much of it is done, since when; and that nobody has to. */
function Fetching({
  readings,
  share,
  cancel,
}: {
  readings: number | null;
  share: number | null;
  cancel: () => void;
}) {
  const [fromMs] = useState(wallNowMs.value);
  const seconds = Math.round((wallNowMs.value - fromMs) / 1000);
  return (
    <div role="status" class="fetching">
      <p>
        {readings === null
          ? say('picture.fetching')
          : say('picture.fetchingFrom', { readings: number(readings, 0) })}
      </p>
      {share !== null && (
        <p aria-live="off">
          <progress value={share} aria-label={say('picture.done')} />{' '}
          <span class="num">
            {readings === null
              ? `${number(Math.floor(100 * share), 0)} %`
              : say('picture.doneOf', {
                  done: number(Math.floor(share * readings), 0),
                  readings: number(readings, 0),
                })}
          </span>
        </p>
      )}
      {seconds >= shownAfterS && (
        <p>
          <span class="num" aria-live="off">
            {say('time.s', { s: seconds })}
          </span>{' '}
          <button onClick={cancel}>{say('picture.cancel')}</button>
        </p>
      )}
    </div>
  );
}

/** The pictures of a load, asked for apart: sentence and bar do not wait for them. */
export function PicturesOfLoad(props: LoadPicturesProps) {
  const [wanted, setWanted] = useState(true);
  if (wanted) return <AskedPictures {...props} cancel={() => setWanted(false)} />;
  return (
    <div role="status" class="fetching">
      <p>{say('picture.cancelled')}</p>
      <p>
        <button onClick={() => setWanted(true)}>{say('picture.fetchNow')}</button>
      </p>
    </div>
  );
}

function AskedPictures({
  load,
  place,
  quality,
  cancel,
}: LoadPicturesProps & { cancel: () => void }) {
  const [span, setSpan] = useState<Span>(null);
  const { trace, error, share } = useTrace(load, place, span);
  if (trace === null) {
    if (error !== null) return <p>{say('picture.failed', { why: error.message })}</p>;
    return <Fetching readings={quality?.readings ?? null} share={share} cancel={cancel} />;
  }
  if (trace.timesMs.length < 2) return <p>{say('picture.none')}</p>;
  const seams = quality?.seams ?? [];
  const props = { trace, load, place, seams, span, setSpan };
  return <Pictures {...props} />;
}
