import { existsSync } from 'node:fs';
import { join, resolve } from 'node:path';
import type { Command } from 'commander';
import { impactReview, type ImpactReview } from '../export/impact-review.ts';
import { LedgerError } from '../ledger/ledger.ts';
import { openLedgerReader, type LedgerReader } from '../ledger/reader.ts';
import { holderOf } from '../lock.ts';
import { CommandProblem } from '../problem.ts';
import { answered, type Answer } from './answer.ts';
import { numberOption } from './number-option.ts';

interface ImpactOptions {
  instrument: string;
  asFound: number;
  data: string;
}

export function registerImpact(program: Command): void {
  program
    .command('impact')
    .description('which sealed loads an instrument that was found wrong may have spoilt')
    .requiredOption('--instrument <S>', 'its name')
    .requiredOption(
      '--as-found <K>',
      'what it showed too much [K]; negative: too little',
      numberOption('--as-found', 'a number of K', { least: -200, most: 200 }),
    )
    .option('--data <folder>', 'of the collector', 'data')
    .action(answered(answerImpact));
}

function answerImpact({ instrument, asFound, data }: ImpactOptions): Answer {
  const ledger = ledgerIn(resolve(data));
  try {
    const review = impactReview(ledger, instrument, asFound, Infinity);
    if (review.loads.length === 0) {
      throw new CommandProblem({
        code: 'no-such-instrument',
        field: '--instrument',
        found: JSON.stringify(instrument.slice(0, 80)),
        expected: 'an instrument that took part in a sealed load since it was last calibrated',
      });
    }
    return { document: { ...review, foundMs: null }, text: textOf(review) };
  } finally {
    ledger.close();
  }
}

function ledgerIn(folder: string): LedgerReader {
  const holder = holderOf(folder);
  if (holder !== null) {
    throw new CommandProblem({
      ...{ code: 'running', file: folder, exit: 3 },
      found: `a collector that runs on it (process ${String(holder.pid)})`,
      expected: 'a copy, for a ledger has one process: setwell backup makes one while it runs',
    });
  }
  const path = join(folder, 'ledger.db');
  if (!existsSync(path)) {
    const expected = 'the data folder of a collector; name it by --data';
    throw new CommandProblem({ code: 'no-such-file', file: path, found: 'no such file', expected });
  }
  try {
    return openLedgerReader(path);
  } catch (error) {
    if (!(error instanceof LedgerError)) throw error;
    const { code, message: found } = error;
    const expected = 'a ledger of this version, whole';
    throw new CommandProblem({ code, file: path, found, expected, exit: 3 });
  }
}

function textOf({ instrument, errorK, lastGoodBy, counts, loads }: ImpactReview): string {
  const sign = errorK < 0 ? '−' : '+';
  const head = [
    `${instrument}: as found ${sign}${Math.abs(errorK)} K; last known to be right: ${lastGoodBy}`,
    `${loads.length} loads: ${counts['verdict-changed']} verdict changed, ${counts.narrower} narrower, ${counts.unaffected} unaffected`,
  ];
  const lines = loads.map(({ load, effect, verdict, by }) => {
    const said = Object.entries(by).map(([name, { verdict: then }]) => `${name} ${then}`);
    return `  ${load}  ${effect}  was ${verdict}  ${said.join(', ')}`;
  });
  return [...head, ...lines].join('\n');
}
