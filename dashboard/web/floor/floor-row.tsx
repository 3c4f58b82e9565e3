import { useState } from 'preact/hooks';
import {
  floorRow,
  loadSlot,
  planEarlyMin,
  verdictToken,
  type FloorLoad,
  type FloorRow,
} from '@setwell/shared-models/api/floor';
import { CureBar, EmptyBar } from '../cure/cure-bar.tsx';
import { Sign } from '../cure/sign.tsx';
import { calls, live, rowMs, staleSinceMs } from '../live.ts';
import { say, sayAny } from '../language.ts';
import {
  clock,
  clockFrom,
  clockNear,
  clockUp,
  duration,
  placeText,
  slotText,
  whoText,
  zoneText,
} from '../phrase.ts';
import { loadAddress } from '../route.ts';
import { isWall } from '../wall.ts';

/** The small line under the minutes: why they are what they are. */
function minutesNote(row: FloorRow, nowMs: number): string {
  const { load } = row;
  if (load === null) {
    const now = live.value.stations[row.station];
    const since = now?.sinceMs ?? null;
    switch (row.slot.kind) {
      case 'cold':
      case 'heating':
        return since === null ? '' : say('row.since', { clock: clockFrom(since, nowMs) });
      case 'no-readings':
        return since === null ? '' : say('row.noReadingsSince', { clock: clockFrom(since, nowMs) });
      case 'which-lot':
        return say('row.nameIt');
      case 'service': {
        const by = whoText(now?.service?.by ?? '');
        return row.slot.untilMs === null
          ? say('row.service', { by })
          : say('row.serviceUntil', { by, clock: clockFrom(row.slot.untilMs, nowMs) });
      }
      default:
        return '';
    }
  }
  return loadNote(load, row, nowMs);
}

function loadNote(load: FloorLoad, row: FloorRow, nowMs: number): string {
  const { changed, provenSinceMs, forecast } = load;
  if (changed !== null) {
    return say('row.changed', {
      clock: clock(changed.atMs),
      because: sayAny(`because.${changed.because}`, changed.because),
      verdict: say(`verdict.${changed.from}`),
    });
  }
  const { slot } = row;
  switch (slot.kind) {
    case 'blind':
      return say('row.silentSince', { clock: clock(load.blindSinceMs ?? nowMs) });
    case 'on-hold': {
      const call = calls.value.find((each) => each.load === load.load);
      return call === undefined ? '' : say(`row.decides.${call.who}`);
    }
    case 'ask':
      return say('row.waiting');
    case 'which-lot':
      return say('row.nameIt');
    case 'out-by':
    case 'left':
    case 'no-end':
      return provenSinceMs === null
        ? ''
        : say('row.provenSince', { clock: clockFrom(provenSinceMs, nowMs) });
    case 'more': {
      const early = planEarlyMin(load);
      if (early !== null && load.plannedEndMs !== null) {
        return say('row.planEarly', {
          clock: clockNear(load.plannedEndMs, nowMs),
          time: duration(early, true),
        });
      }
      const proven = forecast?.provenAtMs ?? null;
      const key = slot.fromMin === slot.toMin ? 'row.proven' : 'row.provenAbout';
      return proven === null ? '' : say(key, { clock: clockUp(proven, nowMs) });
    }
    case 'counting':
      return say('row.since', { clock: clockFrom(load.startMs, nowMs) });
    default:
      return '';
  }
}

/** The longest gap of a load that nothing proves: that, and no place, is why. */
function decidingGap(load: FloorLoad): { fromMs: number; toMs: number } | null {
  if (load.state === 'open' || load.verdict !== 'unproven') return null;
  let longest: { fromMs: number; toMs: number } | null = null;
  for (const reason of load.reasons) {
    if (reason.code !== 'gap') continue;
    const { fromMs, toMs } = reason;
    if (longest === null || toMs - fromMs > longest.toMs - longest.fromMs)
      longest = { fromMs, toMs };
  }
  return longest;
}

/** What was asked beside heat and decides, where the worst place alone would say otherwise. */
function decidingRequirement({ reasons, worst, verdict }: FloorLoad): string | null {
  if (worst === null || worst.verdict === verdict) return null;
  for (const reason of reasons) {
    if (reason.code === 'requirement' && reason.verdict === verdict) return reason.kind;
  }
  return null;
}

function placeOf(load: FloorLoad): string {
  const asked = decidingRequirement(load);
  if (asked !== null) return sayAny(`kind.${asked}`, asked);
  const gap = decidingGap(load);
  if (gap !== null) return say('row.gap', { from: clock(gap.fromMs), to: clock(gap.toMs) });
  const silent = load.blindSinceMs === null ? undefined : load.silentPoints[0];
  const zone = zoneText(load.worst?.zone ?? load.zones[0] ?? '');
  const place = load.worst === null ? zone : placeText(load.worst);
  if (silent === undefined) return place;
  // A wall has room for one name beside the zone: who is needed there wants the point's.
  return `${isWall.value ? zone : place} · ${silent}`;
}

/** The load's bar; an open load without a reading shows its window, and that nothing stands in it. */
function RowBar({ load, dashed }: { load: FloorLoad; dashed: boolean }) {
  const { worst, window, unit } = load;
  if (worst === null || window === null) return <EmptyBar window={window} unit={unit} />;
  return (
    <CureBar
      place={worst}
      window={window}
      unit={unit}
      token={verdictToken(load)}
      dashed={dashed}
      labelled
    />
  );
}

/** A station with nothing in it: its last load is one tap away; one with an unnamed load asks for its name. */
function EmptyStation({ row }: { row: FloorRow }) {
  const { station, slot } = row;
  const at = encodeURIComponent(station);
  if (slot.kind === 'which-lot') {
    return (
      <a class="st id stretched" href={`/start/${at}`}>
        {station} <span class="spoken">{say('row.nameIt')}</span>
      </a>
    );
  }
  return (
    <a class="st id stretched" href={`/last/${at}`}>
      {station} <span class="spoken">{say('row.lastLoad')}</span>
    </a>
  );
}

/** Sign, word, minutes, bar and place of one load (or of none): the cells of a row, in their fixed order. */
function Cells({ row, place, first }: { row: FloorRow; place: string; first: boolean }) {
  const { load, token, slot } = row;
  const nowMs = rowMs.value;
  const stale = staleSinceMs.value !== null;
  const dashed = row.blind || stale;
  const id = load === null ? null : load.load;
  return (
    <>
      <div class="who">
        {id === null ? (
          <EmptyStation row={row} />
        ) : (
          <a class="st id stretched" href={loadAddress(id)}>
            {first ? row.station : load?.lot}
          </a>
        )}
        <small class="id">{first ? (load?.lot ?? '') : ''}</small>
      </div>
      <Sign token={token} dashed={dashed} />
      <div class="word">{token === null ? '' : say(`verdict.${token}`)}</div>
      <div class="minutes">
        <span class="mins num">{slotText(slot, nowMs)}</span>
        <small class="num">{minutesNote(row, nowMs)}</small>
      </div>
      <div class="bar">{load !== null && <RowBar load={load} dashed={dashed} />}</div>
      <div class="place">
        <span>{place}</span>
        <small>{load?.recipe == null ? '' : `${load.recipe.id} r${load.recipe.revision}`}</small>
      </div>
    </>
  );
}

/** A row of its own for each further load of a station, when unfolded. */
function loadRow(row: FloorRow, load: FloorLoad): FloorRow {
  return {
    ...row,
    token: verdictToken(load),
    slot: loadSlot(load, rowMs.value),
    called: calls.value.some((call) => call.load === load.load),
    blind: load.blindSinceMs !== null,
    load,
    loads: [load],
    planEarlyMin: planEarlyMin(load),
  };
}

/** One station, always on its line; where it holds many loads, the first that comes out, and a way to all. */
export function StationRow({ station }: { station: string }) {
  const [unfolded, setUnfolded] = useState(false);
  const row = floorRow(live.value, station, rowMs.value);
  const { load, loads } = row;
  const many = loads.length > 1;
  const place =
    load === null
      ? ''
      : many
        ? say('row.firstOf', {
            place: zoneText(load.worst?.zone ?? load.zones[0] ?? ''),
            n: loads.length,
          })
        : placeOf(load);
  return (
    <>
      <li
        class={row.called ? 'row called' : 'row'}
        data-station={station}
        data-slot={row.slot.kind}
      >
        <Cells row={row} place={place} first />
        {many && (
          <button
            class="unfold"
            aria-expanded={unfolded}
            onClick={() => setUnfolded(!unfolded)}
            aria-label={
              unfolded ? say('row.fold') : say('row.unfold', { n: loads.length, station })
            }
          >
            {unfolded ? '▴' : '▾'} {loads.length}
          </button>
        )}
      </li>
      {unfolded &&
        loads.slice(1).map((each) => {
          const further = loadRow(row, each);
          return (
            <li key={each.load} class={further.called ? 'row further called' : 'row further'}>
              <Cells row={further} place={placeOf(each)} first={false} />
            </li>
          );
        })}
    </>
  );
}
