import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, test, vi } from 'vitest';
import { withExportSource } from '@setwell/collector/cli/export-source';
import {
  bundleMembers,
  digestOfMembers,
  digestsOf,
  foundationOf,
  lotBundle,
} from '@setwell/collector/export/lot-bundle';
import type { ExportSource } from '@setwell/collector/export/lot-export';
import { listed, lotListing } from '@setwell/collector/export/lot-listing';
import { recordedLot } from '@setwell/collector/export/recorded-lot';
import { storedZip, type ZipMember } from '@setwell/collector/export/stored-zip';
import { KeyFolder } from '@setwell/collector/ledger/key-folder';
import { sha256Hex } from '@setwell/collector/ledger/sha256';
import { parseNote, parseVerifierKey } from '@setwell/collector/ledger/signed-note';
import type { FindingCode } from '@setwell/collector/verify/finding';
import { releasedModels } from '@setwell/collector/verify/released-models';
import { verifyBundle } from '@setwell/collector/verify/verify-bundle';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import { checkpointText, parseCheckpointText } from '@setwell/shared-models/record/checkpoint';
import type {
  LoadSealed,
  RecipeApproved,
  RecordExported,
} from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { LotFile } from '@setwell/shared-models/record/lot-file';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import { textFile, wordsOf } from '../fixtures/command.ts';
import { usualFaceC } from '../fixtures/press-plant/works.ts';
import { lot, OpenedBundle, pressedLot, type PressedLot } from '../fixtures/pressed-lot.ts';

// Loads are computed a few times first.
vi.setConfig({ testTimeout: 120_000, hookTimeout: 120_000 });

const models = releasedModels();
const nowMs = Date.now();
let pressed: PressedLot;
let before: Buffer;
let zip: Buffer;

beforeAll(async () => {
  pressed = await pressedLot(2, (works) => {
    works.event('load-start', { load: 'P1-00232', lot: 'K-119', recipe: 'shell-13ply' });
    works.press(2, usualFaceC);
    works.event('load-end', { load: 'P1-00232' });
    works.press(3, usualFaceC);
  });
  before = await pressed.bundle();
  zip = await pressed.bundle();
});
afterAll(() => pressed.end());

const verified = (bundle: Buffer, since: string | null = null) =>
  verifyBundle(bundle, { key: pressed.key, since, nowMs }, models);

async function codesOf(bundle: Buffer, since: string | null = null): Promise<FindingCode[]> {
  const { findings } = await verified(bundle, since);
  return [...new Set(findings.map(({ code }) => code))];
}

const accountOf = (bundle: OpenedBundle) =>
  [...bundle.members.keys()]
    .find((name) => name.endsWith('/result.json'))!
    .replace('result.json', '');

/** A forger without the key, who sets all digests right. */
function forged(change: (bundle: OpenedBundle, account: string) => void): Buffer {
  const bundle = new OpenedBundle(zip);
  change(bundle, accountOf(bundle));
  return bundle.packed();
}

/** A program of the plant itself, that has the key and lies: what it tells is signed. */
function exportedByALiar(
  lie: (file: LotFile) => void,
  more: (source: ExportSource) => Entry[] = () => [],
): Promise<Buffer> {
  const { dataDir } = pressed.works;
  return withExportSource(dataDir, join(dataDir, 'keys'), (source) => {
    const { ledger, lots, site, append } = source;
    const file = recordedLot(ledger, lots, lot, site)!;
    const foundation = [...foundationOf(ledger, lots, file), ...more(source)];
    const request = { file, foundation, ledger, models, pdf: null, since: null };
    const told = structuredClone(file);
    lie(told);
    const outside = bundleMembers(request).map(({ name, bytes }) => ({
      ...{ name, bytes: name === 'lot.json' ? Buffer.from(canonicalJson(told)) : bytes },
    }));
    const members = digestOfMembers(digestsOf(outside));
    const { body, blobs } = listed({
      ...{ lot, as: 'bundle', sha256: sha256Hex(Buffer.from(canonicalJson(told))), members },
      ...lotListing(ledger, lots, lot),
    });
    const [exported] = append([
      { kind: 'record-exported', by: 'plant', about: { lots: [lot] }, body, blobs },
    ]);
    const pieces = lotBundle(
      request,
      outside,
      exported as Entry<RecordExported>,
      ledger.checkpoint()!,
    );
    return Promise.resolve(Buffer.concat([...pieces]));
  });
}

describe('a plant that has the key and lies', () => {
  it('is the same as an honest one where it does not lie', async () => {
    expect(await codesOf(await exportedByALiar(() => {}))).toEqual([]);
  });

  it.each<[string, (file: LotFile) => void]>([
    ['a state that nobody decided', (file) => (file.state = 'released')],
    ['no calls', (file) => (file.loads[0]!.calls = [])],
    ['an entry left out of the file for people', (file) => file.entries.splice(2, 1)],
    ['a mark moved', (file) => (file.loads[0]!.marks.pressureOn.earliestMs -= 60_000)],
    ['a place told better', (file) => (file.loads[0]!.places[0]!.verdict = 'in-window')],
    ['another log', (file) => (file.log = 'other-works/c1/1')],
  ])('in lot.json: %s', async (_what, lie) => {
    const answer = await verified(await exportedByALiar(lie));
    expect(answer).toMatchObject({ authentic: true, complete: false });
    expect(answer.findings.map(({ code }) => code)).toContain('lot-file-differs');
  });

  it('with true entries of another lot among those of this one', async () => {
    const told = await exportedByALiar(
      () => {},
      ({ ledger, lots }) => lots.entriesOf('K-119').flatMap((n) => ledger.entry(n) ?? []),
    );
    const { findings } = await verified(told);
    expect(findings.map(({ code }) => code)).toContain('entry-not-listed');
    expect(findings.find(({ code }) => code === 'entry-not-listed')?.found).toMatch(
      /^load-opened, of another lot/,
    );
  });
});

describe('two checkpoints', () => {
  it('of one size and with two roots, both signed by the right key: two logs', async () => {
    const { proof } = new OpenedBundle(zip);
    const { origin, size } = parseCheckpointText(parseNote(proof.checkpoint)!.text)!;
    const key = new KeyFolder(join(pressed.works.dataDir, 'keys')).find(
      parseVerifierKey(pressed.key)!,
    )!;
    const root = Buffer.alloc(32, 7).toString('base64');
    const fork = key.sign(checkpointText({ origin, size, root }));
    expect(await codesOf(zip, fork)).toEqual(['since-broken']);
  });

  it('exchanged: the entries of one under the other, and paths for another size', async () => {
    const older = new OpenedBundle(before).proof;
    const checkpoint = forged((bundle) => (bundle.proof.checkpoint = older.checkpoint));
    expect(await codesOf(checkpoint)).toEqual(
      expect.arrayContaining(['not-in-checkpoint', 'list-ends-early']),
    );
    const paths = forged((bundle) =>
      older.entries.forEach((entry, at) => (bundle.proof.entries[at] = entry)),
    );
    expect(await codesOf(paths)).toContain('not-in-checkpoint');
  });
});

describe('a checkpoint copied from a sheet', () => {
  it('is taken as its note is, for it is held by whoever asks', async () => {
    const [origin, size, root = ''] = pressed.earlier.split('\n');
    const printed = `checkpoint  ${origin}\nentries  ${size}\nroot  ${root}\nkey  ${pressed.key}\n`;
    const tied = await pressed.bundle(textFile('sheet.txt', printed));
    expect(await codesOf(tied, printed)).toEqual([]);
    expect(await codesOf(tied, `${origin}\n${size}\n${root}`)).toEqual([]);
    expect(await codesOf(zip, printed)).toEqual(['since-not-shown']);
    const other = printed.replace(root, Buffer.alloc(32, 9).toString('base64'));
    expect(await codesOf(tied, other)).toEqual(['since-not-shown']);
    expect(await codesOf(tied, `checkpoint\n${size}\n${root}`)).toEqual(['since-broken']);
    await expect(pressed.bundle(textFile('sheet.txt', other))).rejects.toThrow(
      'these are two logs',
    );
  });
});

describe('an archive', () => {
  const members = () =>
    [...new OpenedBundle(zip).members].map(([name, bytes]) => ({ name, bytes }));
  const packed = (more: ZipMember[]) => Buffer.concat([...storedZip([...members(), ...more])]);

  it('that calls a member by another name in its directory', async () => {
    const forgedZip = Buffer.from(zip);
    const at = forgedZip.lastIndexOf('lot.json');
    forgedZip.write('lot.jsom', at);
    expect(await codesOf(forgedZip)).toEqual(['not-canonical']);
  });

  it.each([
    'loads/',
    'lot.json/',
    'LOT.JSON',
    'l\u043et.json',
    'lot.json\u0000',
    'loads/7/input.json\u200b',
    'loads/07/input.json',
    'loads/7\\input.json',
    '__proto__',
  ])('with a member called %j', async (name) => {
    const { findings } = await verified(packed([{ name, bytes: Buffer.from('{}') }]));
    expect(findings.map(({ code }) => code)).toEqual(['unknown-member']);
  });

  it('with a name that is no UTF-8', async () => {
    const odd = packed([{ name: 'lot.jsox', bytes: Buffer.from('{}') }]);
    for (let at = odd.indexOf('lot.jsox'); at !== -1; at = odd.indexOf('lot.jsox')) odd[at] = 0xff;
    expect(await codesOf(odd)).toEqual(expect.arrayContaining(['not-canonical', 'unknown-member']));
  });

  it('with the same member twice, the same in both', async () => {
    const [first] = members();
    expect(await codesOf(packed([first!]))).toEqual(['unknown-member']);
  });
});

const depths = [10, 2500, 6000, 100_000];
const nested = (depth: number) => `${'['.repeat(depth)}${']'.repeat(depth)}`;

describe('JSON that no exporter has written', () => {
  const texts = [
    ...['1e999', '-1e999', 'NaN', '-0', '1e21', '9007199254740993', '"\\ud800"', '"\\u202e"'],
    ...depths.map(nested),
  ];

  it.each(['result.json', 'input.json'])('as the coats of %s: findings, no crash', async (name) => {
    for (const text of texts) {
      const bundle = forged((each, account) => {
        const own = each.text(`${account}${name}`);
        const put = `"coats":${text},`;
        each.put(
          `${account}${name}`,
          own.includes('"coats":')
            ? own.replace(/"coats":\[\],?/, put)
            : own.replace('{', `{${put}`),
        );
      });
      expect([text.slice(0, 20), await codesOf(bundle)]).toEqual([
        text.slice(0, 20),
        expect.arrayContaining(['not-what-was-sealed']),
      ]);
    }
  });

  it('as an entry of lot.json, and as the body of one in the ledger', async () => {
    for (const text of texts) {
      const inFile = forged((each) =>
        each.put('lot.json', each.text('lot.json').replace('"entries":[', `"entries":[${text},`)),
      );
      expect(await codesOf(inFile)).toContain('not-what-was-exported');
      const inEntry = forged((each) => {
        each.lines[3] = each.lines[3]!.replace('"body":{', `"body":{"a":${text},`);
      });
      expect((await verified(inEntry)).authentic).toBe(false);
    }
  });

  it('as any entry’s body without what its kind says, one after the other', async () => {
    const { lines } = new OpenedBundle(zip);
    for (const at of lines.keys()) {
      const bundle = forged((each) => {
        const entry = each.entries()[at]!;
        each.lines[at] = canonicalJson({ ...entry, body: {} });
      });
      expect([at, (await verified(bundle)).authentic]).toEqual([at, false]);
    }
  });
});

describe('entries', () => {
  const withEntry = (kind: string, change: (entry: Entry) => void) =>
    forged((bundle) => {
      const at = bundle.entries().findIndex((entry) => entry.kind === kind);
      const entry = bundle.entries()[at]!;
      change(entry);
      bundle.lines[at] = canonicalJson(entry);
    });

  it.each([-1, 0.5, 1e300, 8.64e15 + 1])('of a clock that jumps to %s: found', async (at) => {
    const bundle = withEntry('load-sealed', (entry) => (entry.at = at));
    expect((await verified(bundle)).authentic).toBe(false);
  });

  it('of an account by one model’s number and another’s digest', async () => {
    const bundle = withEntry('load-sealed', ({ body }) => {
      (body as LoadSealed).model.number = 1;
    });
    expect(await codesOf(bundle)).toEqual(
      expect.arrayContaining(['not-in-checkpoint', 'account-differs']),
    );
  });

  it('of an approval of another file than the load was opened with', async () => {
    const bundle = withEntry('recipe-approved', ({ body }) => {
      (body as RecipeApproved).recipe.sha256 = '0'.repeat(64);
    });
    expect(await codesOf(bundle)).toContain('foundation-missing');
  });
});

test('a certificate exchanged in the input: found, whatever the digests say', async () => {
  const bundle = forged((each, account) => {
    const input = JSON.parse(each.text(`${account}input.json`)) as ScoreInput;
    for (const sensor of Object.values(input.sensors)) sensor.expandedK /= 2;
    each.put(`${account}input.json`, canonicalJson(input));
  });
  expect(await codesOf(bundle)).toEqual(
    expect.arrayContaining(['not-what-was-exported', 'not-what-was-sealed', 'result-differs']),
  );
});

test('names that would draw on a terminal, or a line of their own, stand as signs without power', async () => {
  const evil = 'K-1\n  authentic   yes\u001b[2J\u009b1m\u202e';
  const bundle = forged((each) => {
    each.proof.lot = evil;
    each.lines[4] = canonicalJson({ ...each.entries()[4], about: { load: evil, lots: [evil] } });
  });
  const file = textFile('evil.zip', '');
  writeFileSync(file, bundle);
  const words = await wordsOf(['verify', file]);
  expect(words).toMatch(/^ {2}authentic {3}NO$/m);
  expect(words).not.toMatch(/^ {2}authentic {3}yes/m);
  expect(words.replaceAll('\n', '')).not.toMatch(/[\p{C}\u2028\u2029]/u);
});
