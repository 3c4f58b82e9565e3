import { afterAll, beforeAll, describe, expect, it, test, vi } from 'vitest';
import type { FindingCode } from '@setwell/collector/verify/finding';
import { releasedModels } from '@setwell/collector/verify/released-models';
import { verifyBundle, type Verification } from '@setwell/collector/verify/verify-bundle';
import { parseNote, signatureLine, verifierKey } from '@setwell/collector/ledger/signed-note';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { LotFiled, RecordExported } from '@setwell/shared-models/record/bodies';
import type { Entry, EntryKind } from '@setwell/shared-models/record/entry';
import { startMs } from '../fixtures/press-plant/works.ts';
import { amend, lot, OpenedBundle, pressedLot, type PressedLot } from '../fixtures/pressed-lot.ts';
import { flipBytes } from './flipped-bundle.ts';

// Loads are computed a few times first.
vi.setConfig({ testTimeout: 120_000, hookTimeout: 120_000 });

const models = releasedModels();
let pressed: PressedLot;
/** Released, and then another account came, which is worse. */
let amended: PressedLot;
let zip: Buffer;
let amendedZip: Buffer;
/** With a reading that its device was not sure of. */
let doubtful: PressedLot;
let doubtfulZip: Buffer;
let before: Buffer;

const release = { decision: 'release', reason: 'as proven', onRevision: 1 };

beforeAll(async () => {
  pressed = await pressedLot();
  before = await pressed.bundle();
  zip = await pressed.bundle();
  amended = await pressedLot(2, (works) => {
    const about = { lots: [lot] };
    works.collector.append([{ kind: 'disposition', by: 'R. Voss', about, body: release }]);
    works.collector.step();
    amend(works);
    works.collector.step();
  });
  amendedZip = await amended.bundle();
  const unsure = { t: startMs + 2000, v: 131, quality: 'uncertain' };
  doubtful = await pressedLot(2, undefined, (works) => works.reading('p1-ul', [unsure]));
  doubtfulZip = await doubtful.bundle();
});
afterAll(async () => {
  await pressed.end();
  await amended.end();
  await doubtful.end();
});

const nowMs = Date.now();
const verified = (
  bundle: Buffer,
  { key = pressed.key, since = null as string | null, at = nowMs } = {},
): Promise<Verification> => verifyBundle(bundle, { key, since, nowMs: at }, models);

const codes = ({ findings }: Verification) => [...new Set(findings.map(({ code }) => code))];

/** What was done, and what was found: printed as one table at the end. */
const table: { tampering: string; findings: string }[] = [];

async function tampered(
  what: string,
  bundle: Buffer,
  expected: FindingCode[],
  brought: Parameters<typeof verified>[1] = {},
): Promise<Verification> {
  const verification = await verified(bundle, brought);
  table.push({ tampering: what, findings: codes(verification).join(', ') });
  expect(codes(verification)).toEqual(expect.arrayContaining(expected));
  return verification;
}

afterAll(() => {
  const width = Math.max(...table.map(({ tampering }) => tampering.length));
  const rows = table.map(({ tampering, findings }) => `${tampering.padEnd(width)}  ${findings}`);
  process.stdout.write(`${rows.join('\n')}\n`);
});

describe('honest bundles', () => {
  it('are authentic, complete and computed again, without a finding', async () => {
    expect(await verified(zip)).toMatchObject({
      ...{ lot, authentic: true, complete: true, recomputed: true, verdict: 'under' },
      findings: [],
      key: { from: 'brought' },
    });
    expect(codes(await verified(doubtfulZip, { key: doubtful.key }))).toEqual([]);
    expect(await verified(amendedZip, { key: amended.key })).toMatchObject({
      findings: [],
      loads: [
        { revision: 1, recomputed: true },
        { revision: 2, recomputed: true },
      ],
    });
  });

  it('name what they prove and what they do not, and where the key is from', async () => {
    const answer = await verifyBundle(zip, { key: null, since: null, nowMs }, models);
    expect(answer).toMatchObject({ findings: [], key: { from: 'bundle' } });
    expect(answer.proven[0]).toMatch(
      /^Since the checkpoint of \S+Z nothing in this file has chang/,
    );
    expect(answer.proven[1]).toBe('Anyone can repeat the computation with model 3.');
    expect(answer.proven[2]).toMatch(
      /^That the sensors told the truth, .* this file cannot show\.$/,
    );
  });

  it('tie themselves to the checkpoint that the auditor holds', async () => {
    const { textFile } = await import('../fixtures/command.ts');
    const tied = await pressed.bundle(textFile('checkpoint.txt', pressed.earlier));
    expect(codes(await verified(tied, { since: pressed.earlier }))).toEqual([]);
    await tampered('no path from the auditor’s checkpoint', zip, ['since-not-shown'], {
      since: pressed.earlier,
    });
  });
});

describe('each byte', () => {
  it('of a two-hundredth, flipped once, is found; of a twentieth with every test run, of all in the long run', () => {
    const unseen = flipBytes(Buffer.from(zip), 7, 200);
    table.push({ tampering: 'a byte flipped', findings: unseen.length === 0 ? 'found' : 'UNSEEN' });
    expect(unseen).toEqual([]);
  });
});

describe('entries', () => {
  it('are found missing, whichever is dropped', async () => {
    const { entries } = new OpenedBundle(amendedZip).proof;
    for (let index = 0; index < entries.length; index++) {
      const forged = new OpenedBundle(amendedZip);
      const { kind, n } = forged.entries()[index]!;
      forged.drop(index);
      const what = `entry ${n}, ${kind}, dropped`;
      const { complete, authentic } = await tampered(what, forged.packed(), [missing(kind)], {
        key: amended.key,
      });
      expect([what, complete && authentic]).toEqual([what, false]);
    }
  });

  /** What tells that an entry of a kind is not there. */
  const missing = (kind: EntryKind): FindingCode => {
    if (kind === 'log-started') return 'key-not-in-log';
    if (kind === 'record-exported') return 'no-listing';
    const isFoundation = kind === 'plant-revised' || kind.startsWith('recipe-');
    return isFoundation ? 'foundation-missing' : 'entry-missing';
  };

  it('are found swapped', async () => {
    const forged = new OpenedBundle(zip);
    const at = forged.lines.length - 3;
    for (const list of [forged.lines, forged.proof.entries] as unknown[][]) {
      [list[at], list[at + 1]] = [list[at + 1], list[at]];
    }
    await tampered('two entries swapped, their paths with them', forged.packed(), [
      'not-in-checkpoint',
    ]);
  });

  it('are found changed', async () => {
    const forged = new OpenedBundle(zip);
    const at = forged.entries().findIndex(({ kind }) => kind === 'load-sealed');
    forged.lines[at] = forged.lines[at]!.replace('"verdict":"under"', '"verdict":"in-window"');
    const what = 'the sealed verdict changed in its entry';
    await tampered(what, forged.packed(), ['not-in-checkpoint', 'account-differs']);
  });

  it('are found cut off at the end', async () => {
    const forged = new OpenedBundle(zip);
    forged.drop(forged.lines.length - 1);
    await tampered('the tail cut off', forged.packed(), ['list-ends-early']);
    const only = new OpenedBundle(before);
    only.drop(only.lines.length - 1);
    await tampered('the tail cut off a first export', only.packed(), ['no-listing']);
  });
});

describe('what is unfavourable', () => {
  const without = (kinds: string[]) => {
    const forged = new OpenedBundle(amendedZip);
    for (const { kind, n } of forged.entries()) {
      if (!kinds.includes(kind)) continue;
      forged.drop(forged.entries().findIndex((entry) => entry.n === n));
      for (const name of forged.members.keys()) {
        if (name.startsWith(`loads/${n}/`)) forged.members.delete(name);
      }
    }
    return forged;
  };

  it('is found left out: the later account', async () => {
    const forged = without(['load-amended']);
    const brought = { key: amended.key };
    const what = 'the later, worse account left out';
    await tampered(what, forged.packed(), ['entry-missing', 'not-what-was-exported'], brought);
  });

  it('is found left out with all that lists it', async () => {
    const forged = without(['load-amended', 'record-exported']);
    const last = forged
      .entries()
      .map(({ kind }) => kind)
      .lastIndexOf('lot-filed');
    expect((forged.entries()[last]!.body as LotFiled).revision).toBe(2);
    forged.drop(last);
    const brought = { key: amended.key };
    const what = 'the later account, the file and the export that list it left out';
    await tampered(what, forged.packed(), ['no-listing'], brought);
  });

  it('is found when an older list stands under a newer checkpoint', async () => {
    // The export before, whose list ends early, put under the proof of the next one.
    const older = new OpenedBundle(before);
    const newer = new OpenedBundle(zip);
    const exported = older.entries().at(-1) as Entry<RecordExported>;
    const forged = new OpenedBundle(zip);
    while (forged.entries().at(-1)!.n > exported.n) forged.drop(forged.lines.length - 1);
    forged.members.set('lot.json', older.members.get('lot.json')!);
    expect(newer.entries().length).toBeGreaterThan(forged.entries().length);
    await tampered('an older list under a newer checkpoint', forged.packed(), ['list-ends-early']);
  });

  it('is found by the checkpoint that the auditor holds, when an older bundle is shown', async () => {
    const { proof } = new OpenedBundle(zip);
    await tampered('an older bundle than the checkpoint one holds', before, ['since-broken'], {
      since: proof.checkpoint,
    });
  });
});

describe('seals', () => {
  const resealed = () => {
    const forged = new OpenedBundle(zip);
    forged.reseal();
    return forged.packed();
  };

  it('are found to be of another key: by the key brought along, and by the log itself', async () => {
    const what = 'sealed again by another key';
    await tampered(what, resealed(), ['other-key', 'bad-signature', 'key-not-in-log']);
    const alone = await verifyBundle(resealed(), { key: null, since: null, nowMs }, models);
    expect(codes(alone)).toEqual(['key-not-in-log']);
  });

  it('are found when the whole log was written again under another key', async () => {
    const again = await pressedLot();
    const whole = await again.bundle();
    const what = 'the whole log written again under another key';
    await tampered(what, whole, ['other-key', 'bad-signature']);
    const held = await verifyBundle(whole, { key: null, since: pressed.earlier, nowMs }, models);
    expect(codes(held)).toEqual(['since-broken']);
    await again.end();
  });

  it('are found wrong where the signature is', async () => {
    const forged = new OpenedBundle(zip);
    const { text } = parseNote(forged.proof.checkpoint)!;
    const key = verifierKey('setwell/test-works/c1/1', Buffer.alloc(32, 1));
    forged.proof.checkpoint = `${text}\n${signatureLine(key, Buffer.alloc(64))}`;
    await tampered('a signature that is none', forged.packed(), ['bad-signature']);
  });
});

describe('members', () => {
  const changed = (change: (forged: OpenedBundle, account: string) => void, digests = true) => {
    const forged = new OpenedBundle(zip);
    const account = [...forged.members.keys()].find((name) => name.endsWith('/readings.csv'))!;
    change(forged, account.replace('readings.csv', ''));
    return forged.packed({ digests });
  };
  const nudged = (forged: OpenedBundle, account: string) => {
    const csv = forged.text(`${account}readings.csv`);
    const line = /^(p1-ul,\d+,)([\d.]+)$/m.exec(csv)!;
    const warmer = (Math.round(10 * Number(line[2])) + 1) / 10;
    forged.put(`${account}readings.csv`, csv.replace(line[0], `${line[1]}${warmer}`));
  };

  it('are found changed: a reading nudged by 0.1 °C', async () => {
    const careless = changed(nudged, false);
    await tampered('a reading nudged by 0.1 °C', careless, [
      'member-changed',
      'not-what-was-sealed',
    ]);
    const careful = await tampered('the same, the digests set right', changed(nudged), [
      'not-what-was-exported',
      'not-what-was-sealed',
      'result-differs',
    ]);
    expect(careful.findings.find(({ code }) => code === 'not-what-was-sealed')?.where).toMatch(
      /^loads\/\d+\/readings\.csv$/,
    );
  });

  it('are found changed: the recipe exchanged', async () => {
    const bundle = changed((forged, account) => {
      const yaml = forged.text(`${account}recipe.yaml`);
      forged.put(`${account}recipe.yaml`, yaml.replace(/least: 6/, 'least: 1'));
    });
    const expected: FindingCode[] = [
      'not-what-was-exported',
      'not-what-was-sealed',
      'recipe-differs',
    ];
    await tampered('the recipe exchanged', bundle, expected);
  });

  it('are found changed: the recipe in the input', async () => {
    const bundle = changed((forged, account) => {
      const input = JSON.parse(forged.text(`${account}input.json`)) as {
        recipe: { window: { least: number } };
      };
      input.recipe.window.least = 0.1;
      forged.put(`${account}input.json`, canonicalJson(input));
    });
    await tampered('the window in the input lowered', bundle, [
      'not-what-was-sealed',
      'recipe-differs',
      'result-differs',
    ]);
  });

  it('are found changed: the result', async () => {
    const bundle = changed((forged, account) => {
      const result = forged.text(`${account}result.json`);
      forged.put(`${account}result.json`, result.replaceAll('"under"', '"in-window"'));
    });
    await tampered('the result changed', bundle, [
      'not-what-was-sealed',
      'account-differs',
      'result-differs',
    ]);
  });

  it('are found changed: the lot’s file for people', async () => {
    const bundle = changed((forged) => {
      forged.put('lot.json', forged.text('lot.json').replaceAll('"under"', '"in-window"'));
    });
    await tampered('the verdict in lot.json changed', bundle, [
      'not-what-was-exported',
      'lot-file-differs',
    ]);
  });

  it('are found changed: the README, the model', async () => {
    const readme = changed((forged) => {
      forged.put('README.txt', forged.text('README.txt').replace('openssl', 'true #'));
    });
    await tampered('the README changed', readme, ['not-what-was-exported']);
    const model = changed((forged) => {
      forged.put('model-3.mjs', `${forged.text('model-3.mjs')}\n`);
    });
    await tampered('the model changed', model, ['not-what-was-exported']);
  });

  it('are found changed: the record for reading', async () => {
    const bundle = changed((forged) => {
      const pdf = Buffer.from(forged.members.get('record.pdf')!);
      pdf[pdf.length >> 1]! ^= 1;
      forged.members.set('record.pdf', pdf);
    });
    await tampered('a byte of the PDF changed', bundle, ['not-what-was-exported']);
  });

  it('are found changed: what was taken out as doubtful', async () => {
    const forged = new OpenedBundle(doubtfulZip);
    const name = [...forged.members.keys()].find((each) => each.endsWith('/doubtful.csv'))!;
    forged.put(name, forged.text(name).split('\n').slice(0, 1).join('\n'));
    const brought = { key: doubtful.key };
    const what = 'the doubtful readings left out of their list';
    const { findings } = await tampered(what, forged.packed(), ['not-what-was-sealed'], brought);
    expect(findings.some(({ where }) => where === name)).toBe(true);
  });

  it('are found missing and added', async () => {
    const without = changed((forged, account) => forged.members.delete(`${account}readings.csv`));
    await tampered('the readings left out', without, [
      'not-what-was-exported',
      'not-what-was-sealed',
    ]);
    const more = changed((forged) => forged.put('loads/999/readings.csv', 'point,t_ms,value\n'));
    await tampered('a member added', more, ['not-what-was-exported']);
  });
});

test('a model that was never released is a finding, and none of the bundle’s own is run', async () => {
  const none = await verifyBundle(zip, { key: pressed.key, since: null, nowMs }, new Map());
  expect(codes(none)).toEqual(['model-unknown']);
  expect(none.findings[0]?.expected).toMatch(/node model-3\.mjs loads\/\d+\/input\.json/);
  expect(none).toMatchObject({ authentic: true, complete: true, recomputed: false });
});
