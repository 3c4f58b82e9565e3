import { Sign } from '../cure/sign.tsx';
import { fetched, stations } from '../live.ts';
import { say } from '../language.ts';
import { isWall } from '../wall.ts';
import { CallStrip, WallCall } from './call-strip.tsx';
import { StationRow } from './floor-row.tsx';
import { NextOutLine } from './next-out.tsx';
import { WallFoot } from './wall-foot.tsx';

/** Kinds that are hot: their screens carry the note. */
const hotKinds = new Set(['press', 'oven']);

function NoStations() {
  return (
    <section class="empty">
      <Sign token={null} />
      <h1>{say(isWall.value ? 'floor.wallNone' : 'floor.none')}</h1>
      <p>{say('floor.noneMore')}</p>
      <p>{say('floor.noneDemo')}</p>
    </section>
  );
}

function Rows() {
  return (
    <ol
      class={`rows rows-${stations.value.length <= 6 ? 'few' : stations.value.length <= 8 ? 'eight' : 'many'}`}
      aria-label={say('floor.stations')}
    >
      {stations.value.map(({ id }) => (
        <StationRow key={id} station={id} />
      ))}
    </ol>
  );
}

function Wall() {
  return (
    <>
      <h1 class="spoken">{say('floor.title')}</h1>
      <WallCall />
      <Rows />
      <WallFoot />
    </>
  );
}

/** Is the heat proven, station by station; if not, how long; who is needed where. */
export function Floor() {
  if (fetched.value && stations.value.length === 0) return <NoStations />;
  if (isWall.value) return <Wall />;
  const hot = stations.value.some(({ kind }) => hotKinds.has(kind));
  return (
    <>
      <h1 class="spoken">{say('floor.title')}</h1>
      <CallStrip />
      <NextOutLine />
      <Rows />
      <p class="advises soft">
        {say('app.advises')} {hot ? say('floor.hot') : ''}
      </p>
      <div class="acts foot-acts">
        <a class="button main" href="/start">
          {say('nav.start')}
        </a>
        <a class="button scan" href="/start">
          {say('nav.scan')}
        </a>
        <a class="button" href="/handover">
          {say('nav.handover')}
        </a>
      </div>
    </>
  );
}
