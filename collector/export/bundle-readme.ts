import type { PeriodFile } from '@setwell/shared-models/record/period';
import type { LotFile } from '@setwell/shared-models/record/lot-file';
import type { LotRetention } from '@setwell/shared-models/record/retention';
import { droppedWords, holdWords } from './retention-words.ts';

/** Reads the proof and writes what `sha256sum` and `openssl` ask for. */
const proofScript = `import base64, glob, hashlib, json
b64, sha = base64.b64decode, lambda data: hashlib.sha256(data).digest()
proof = json.load(open('proof.json', encoding='utf-8'))
text, signature = proof['checkpoint'].split('\\n\\n', 1)
origin, size, root = text.split('\\n')[:3]
open('note.txt', 'wb').write((text + '\\n').encode())
open('signature.bin', 'wb').write(b64(signature.split()[-1])[4:])
key = bytes.fromhex('302a300506032b6570032100') + b64(proof['key'].split('+', 2)[2])[1:]
open('key.der', 'wb').write(key)
open('sums.txt', 'w').writelines(f'{s}  {n}\\n' for n, s in proof['members'].items())`;

/** Twenty lines that anybody can read; they need a Python of this or the last ten years, and nothing else. */
export const checkScript = `${proofScript}
lines = open('ledger.jsonl', 'rb').read().splitlines()
assert len(lines) == len(proof['entries'])
for line, entry in zip(lines, proof['entries']):
    here, last, hashed = entry['n'], int(size) - 1, sha(b'\\0' + line)
    for other in map(b64, entry['path']):
        right = here % 2 == 1 or here == last
        hashed = sha(b'\\1' + other + hashed) if right else sha(b'\\1' + hashed + other)
        while right and here and here % 2 == 0: here, last = here // 2, last // 2
        here, last = here // 2, last // 2
    assert hashed == b64(root) and last == 0, entry['n']
print(len(lines), 'entries are in the checkpoint of', size, 'by', origin)`;

/** How to check a bundle with Setwell, and without it. */
export function bundleReadme({ lot, site }: LotFile): string {
  return `Lot ${lot}, ${site.title} (${site.id})${site.demo ? ' - DEMO: this plant is invented' : ''}

WHAT IS IN HERE
  lot.json         everything that is recorded of the lot; times are UTC in milliseconds
  loads/<n>/       each account of a load, by the number of its entry in the ledger:
                   input.json    what the verdict follows from beside the readings
                   readings.csv  point,t_ms,value: raw values as they were scored
                   doubtful.csv  readings that were taken out, with the reason
                   result.json   the verdict with its intervals
                   recipe.yaml   the recipe's revision
  model-<n>.mjs    the computation that was used, to be run by hand
  ledger.jsonl     the lot's entries and those they rest on, exact bytes, one a line
  proof.json       the signed checkpoint and the paths that tie every entry to it
  record.pdf       the same for reading; it is not computed again, its digest is checked

WHAT IS PROVEN
  Since the checkpoint of proof.json nothing in this file has changed. Anyone can repeat the
  computation with the model named. That the sensors told the truth, and that nothing was added
  after that checkpoint, this file cannot show.
  Heat proven is not bond strength. Trust in the key comes from outside: compare it with the one
  printed on an older sheet of this plant.

WITH SETWELL
  setwell verify bundle.zip --key key.txt --since older-checkpoint.txt
  key.txt: the line of the key as you have it from outside; older-checkpoint.txt: the note, or the
  lines "checkpoint", "entries" and "root" of an older sheet; both options may be left out.

WITHOUT SETWELL
  1 Unpack, go into the folder, and run these lines with python3:

----- check.py
${checkScript}
----- end

  2 sha256sum -c sums.txt
  3 openssl pkeyutl -verify -pubin -keyform DER -inkey key.der -rawin -in note.txt -sigfile signature.bin
  4 The last line of ledger.jsonl is the export itself. Its "entries" are the numbers of all the
    lot's entries: each has its line. Its "members" is the SHA-256 of proof.json's members, without
    ledger.jsonl:
    python3 -c "import json,hashlib;m=json.load(open('proof.json',encoding='utf-8'))['members'];m.pop('ledger.jsonl');print(hashlib.sha256(json.dumps(m,sort_keys=True,separators=(',',':'),ensure_ascii=False).encode()).hexdigest())"
  5 Each "load-sealed" and "load-amended" line names the SHA-256 of the files in its folder.
    To compute a verdict again by the model that the line names (read it first; it is plain JavaScript
    for Node):
    node model-<number>.mjs loads/<n>/input.json loads/<n>/readings.csv | cmp - loads/<n>/result.json
`;
}

/** The tree's own definition: what is shown is hashed, what is not shown stands in the proof. */
const periodScript = `${proofScript}
lines = (line[:-1] for name in sorted(glob.glob('ledger/*')) for line in open(name, 'rb'))
hidden = iter(map(b64, proof['hidden']))
def tree(start, width):
    if not any(a < start + width and start < b for a, b in proof['shown']): return next(hidden)
    if width == 1: return sha(b'\\0' + next(lines))
    left = 1 << (width - 1).bit_length() - 1
    return sha(b'\\1' + tree(start, left) + tree(start + left, width - left))
assert tree(0, int(size)) == b64(root) and next(lines, None) is None and next(hidden, None) is None
print('entries', proof['first'], 'to', proof['next'] - 1, 'are all there, in the checkpoint of', size, 'by', origin)`;

/** How to check a period's bundle with Setwell, and without it. @param kept of each of its lots */
export function periodReadme(
  { site, fromMs, toMs }: Omit<PeriodFile, 'lots'>,
  kept: readonly KeptLot[],
): string {
  const [from, to] = [fromMs, toMs].map((ms) => new Date(ms).toISOString());
  return `Records of ${site.title} (${site.id}) from ${from} to before ${to}${site.demo ? ' - DEMO: this plant is invented' : ''}

WHAT IS IN HERE
  period.json      the lots that anything was recorded of in this time; of each, who keeps its documents
                   beyond their time ("hold"), and whether they were deleted after it ("dropped")
  lots/            a bundle for each of them, that can be checked by itself; its own README says how
  ledger/          every entry of this time, exact bytes, one a line, none left out; with its neighbours,
                   those that name a key, and the export itself as the last one
  proof.json       the signed checkpoint, and what ties the entries to it

HELD AND DELETED
${keptLines(kept)}

WHAT IS PROVEN
  Since the checkpoint of proof.json nothing in this file has changed. Anyone can repeat the
  computation with the model named. That the sensors told the truth, and that nothing was added
  after that checkpoint, this file cannot show.
  Times are the collector's clock. Trust in the key comes from outside: compare it with the one
  printed on an older sheet of this plant.

WITH SETWELL
  setwell verify period.bundle.zip --key key.txt --since older-checkpoint.txt

WITHOUT SETWELL
  1 Unpack, go into the folder, and run these lines with python3:

----- check.py
${periodScript}
----- end

  2 sha256sum -c sums.txt
  3 openssl pkeyutl -verify -pubin -keyform DER -inkey key.der -rawin -in note.txt -sigfile signature.bin
  4 Each entry that names a lot ("about", "lots") stands in that lot's bundle too.
`;
}

export interface KeptLot extends Pick<LotRetention, 'hold' | 'dropped'> {
  lot: string;
}

/** A README is for reading; period.json has them all. */
const mostNamed = 100;

function keptLines(kept: readonly KeptLot[]): string {
  const lines = kept.flatMap(({ lot, hold, dropped }) => [
    ...(hold ? [`  ${lot}: ${holdWords(hold)}`] : []),
    ...(dropped ? [`  ${lot}: ${droppedWords(dropped)}`] : []),
  ]);
  if (lines.length === 0) return '  none of these lots';
  const more = lines.length - mostNamed;
  if (more > 0) lines.splice(mostNamed, more, `  and ${String(more)} more, in period.json`);
  return lines.join('\n');
}
