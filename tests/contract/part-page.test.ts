import { afterAll, beforeAll, expect, test } from 'vitest';
import type { ApprovedRecipe, LoadDetail } from '@setwell/shared-models/api/dashboard';
import type { PartDetail } from '@setwell/shared-models/api/part';
import type { RecipeRow } from '@setwell/shared-models/api/recipe';
import { sceneMs } from '../browser/floor-scene.ts';
import { stage, type Stage } from '../browser/harness.ts';
import { until } from '../fixtures/until.ts';

const minuteMs = 60_000;
/** More loads than a page shows, and more of what is said of one. */
const [manyLoads, manyEntries] = [205, 600];
const recipe = { id: 'shell-13ply', revision: 4, sha256: 'c'.repeat(64), signed: null };

let on: Stage;

function open(load: string, lot: string, parts: string[], atMs: number): void {
  const mark = { earliestMs: atMs, latestMs: atMs };
  const marks = { contact: null, pressureOn: mark, releaseStart: null, open: null };
  const about = { station: 'press-1', load, lots: [lot] };
  const body = {
    ...{ load, station: 'press-1', opening: null, zones: [], lot, parts, recipe: null, marks },
    ...{ plantSha256: 'e'.repeat(64), plannedEndMs: null, event: { seq: 1, index: 0 } },
    ...{ act: null, weights: null, model: { number: null, sha256: null } },
  };
  on.fake.append('load-opened', about, body, 'plant', atMs);
}

function end(load: string, atMs: number): void {
  const body = { endMs: atMs, verdict: 'in-window', side: null };
  on.fake.append('load-ended', { station: 'press-1', load }, body, 'plant', atMs);
}

async function read<T>(path: string): Promise<T | null> {
  const answer = await fetch(`${on.url}/api/v1${path}`);
  return answer.status === 200 ? ((await answer.json()) as T) : null;
}

const partOf = (lot: string, part: string) => read<PartDetail>(`/lots/${lot}/parts/${part}`);

beforeAll(async () => {
  on = await stage('/nonexistent', (fake) => {
    fake.append('recipe-approved', {}, { recipe, reason: 'looked at' }, 'p-2');
  });
  const startMs = sceneMs - 1_000 * minuteMs;
  open('L-0', 'K-1', ['A'], startMs);
  end('L-0', startMs + minuteMs);
  on.fake.append(
    ...([
      'disposition',
      { load: 'L-0' },
      { decision: 'scrap', parts: ['A'], reason: 'bent' },
    ] as const),
    'p-2',
    startMs + 2 * minuteMs,
  );
  for (let i = 1; i <= manyLoads; i++) {
    open(`L-${String(i)}`, 'K-1', ['B'], startMs + i * 2 * minuteMs);
    end(`L-${String(i)}`, startMs + (i * 2 + 1) * minuteMs);
  }
  open('R-1', 'K-2', ['C', 'D'], startMs);
  for (let i = 0; i < manyEntries; i++) {
    const body = { say: 'wait', verdict: 'unproven', side: null, provenAtMs: null, overAtMs: null };
    on.fake.append('advice-changed', { load: 'R-1' }, body, 'collector', startMs + i * 1_000);
  }
  end('R-1', startMs + 20 * minuteMs);
  on.fake.append('load-noted', { load: 'R-1' }, { note: 'a corner is dry' }, 'p-2', sceneMs);
  on.fake.append(
    ...([
      'disposition',
      { load: 'R-1' },
      { decision: 'rework', parts: ['C'], reason: 'dry' },
    ] as const),
    'p-2',
    sceneMs,
  );
  await until(async () => (await partOf('K-2', 'C'))?.next.what === 'rework');
}, 60_000);
afterAll(() => on.close());

test('a part is found by its name, however many loads its lot has had since', async () => {
  const detail = await partOf('K-1', 'A');
  expect(detail?.steps.map(({ what }) => what)).toEqual(['load', 'decided']);
  expect(detail?.next).toMatchObject({ what: 'scrapped', load: 'L-0' });
  expect(detail?.isCut).toBe(false);
  expect(await partOf('K-1', 'nobody')).toBeNull();
});

test('of too many loads a part shows the newest, and says so', async () => {
  const detail = await partOf('K-1', 'B');
  expect(detail?.isCut).toBe(true);
  expect(detail?.steps.at(-1)).toMatchObject({ what: 'load', load: `L-${String(manyLoads)}` });
  expect(detail?.steps[0]).toMatchObject({ load: `L-${String(manyLoads - 199)}` });
});

test('what is decided after hundreds of entries of a load is on the part and on the load', async () => {
  const detail = await partOf('K-2', 'C');
  expect(detail?.steps.at(-1)).toMatchObject({ what: 'decided', decided: { decision: 'rework' } });
  expect((await partOf('K-2', 'D'))?.next.what).not.toBe('rework');
  const load = await read<LoadDetail>('/loads/R-1');
  expect(load?.notes).toMatchObject([{ note: 'a corner is dry' }]);
});

test('recipes come with the revisions that were approved, and one whose text is away has a row', async () => {
  const told = await read<{ recipes: RecipeRow[]; revisions: ApprovedRecipe[] }>('/recipes');
  expect(told?.revisions).toMatchObject([{ id: 'shell-13ply', revision: 4, approvedBy: 'p-2' }]);
  expect(told?.recipes).toMatchObject([{ id: 'shell-13ply', kind: null, revision: 4 }]);
});
