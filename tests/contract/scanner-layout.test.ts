import { actCode, checkSign, readActCode } from '@setwell/shared-models/plant/act-code';
import {
  asPrinted,
  asTyped,
  layoutsThatType,
  readScan,
  scannerLayouts,
  type ScannerLayout,
} from '@setwell/shared-models/plant/scanner-layout';
import { describe, expect, it } from 'vitest';

/** What was typed when an American scanner read the two codes on a computer of each layout; tried by hand. */
const tried: [ScannerLayout, string, string][] = [
  ['de', 'Kß118', 'SW.LOT'],
  ['da', 'K+118', 'SW.LOT'],
  ['es', "K'118", 'SW.LOT'],
  ['it', "K'118", 'SW.LOT'],
  ['tr', 'K*118', 'SWçLOT'],
  ['fr', 'K)&&_', 'SZ:LOT'],
  ['pl', 'K-118', 'SW.LOT'],
];

describe('a scanner that types as an American keyboard', () => {
  it.each(tried)('on a computer set to %s', (layout, lot, code) => {
    expect(asTyped('K-118', layout)).toBe(lot);
    expect(asTyped('SW.LOT', layout)).toBe(code);
    expect(asPrinted(lot, layout)).toBe('K-118');
    expect(asPrinted(code, layout)).toBe('SW.LOT');
    const known = new Set(['K-118', 'K-119', 'S-204']);
    expect(readScan(lot, (text) => known.has(text))?.text).toBe('K-118');
  });

  it('German swaps Y and Z, in both sizes', () => {
    expect(asTyped('Yz-Zy', 'de')).toBe('ZyßYz');
    expect(asPrinted('ZyßYz', 'de')).toBe('Yz-Zy');
  });

  it('what a layout cannot have written is not read through it', () => {
    // A hyphen stands on the German slash key: it was printed as one.
    expect(asPrinted('K-118', 'de')).toBe('K/118');
    expect(asPrinted('1', 'fr')).toBeNull();
  });

  it('two lots that would both fit, or none: nothing is guessed', () => {
    // Z is Y on a German computer, and W on a French one.
    const known = new Set(['YB', 'WB']);
    expect(readScan('ZB', (text) => known.has(text))).toBeNull();
    expect(readScan('ZC', (text) => known.has(text))).toBeNull();
    expect(readScan('YB', (text) => known.has(text))?.text).toBe('YB');
  });

  it('the check page’s code tells the layouts that differ in a lot number apart', () => {
    const groups = new Map<string, ScannerLayout[]>();
    for (const layout of scannerLayouts) {
      const typed = asTyped('K-118.YZ', layout);
      groups.set(typed, [...(groups.get(typed) ?? []), layout]);
      expect(layoutsThatType('K-118.YZ', typed)).toContain(layout);
    }
    expect([...groups.values()]).toEqual([
      ['us', 'pl'],
      ['de'],
      ['da'],
      ['es', 'it'],
      ['tr'],
      ['fr'],
    ]);
  });
});

describe('codes of an act card', () => {
  const stations = ['press-1', 'press-2', 'rack-a', 'oven-1', 'store-1', 'bench-1'];
  const acts = ['start', 'end', 'go', 'hold', 'keep-closed'] as const;

  it('are read on every layout, and name their act and station', () => {
    for (const station of stations) {
      for (const act of acts) {
        const code = actCode({ act, station });
        for (const layout of scannerLayouts) {
          expect(readActCode(asTyped(code, layout), stations)).toEqual({ act, station });
          const capsLocked = asTyped(code.toLowerCase(), layout);
          if (layout !== 'fr') expect(readActCode(capsLocked, stations)).toEqual({ act, station });
        }
      }
    }
  });

  it('one wrong sign, or two neighbours swapped, is no code', () => {
    const code = actCode({ act: 'hold', station: 'press-1' });
    for (let i = 2; i < code.length; i += 1) {
      for (const sign of '0123456789ABCDEFGHJKLMNPRSTUVWX') {
        if (sign === code.charAt(i)) continue;
        const wrong = code.slice(0, i) + sign + code.slice(i + 1);
        expect(checkSign(wrong.slice(0, -1)) === wrong.slice(-1)).toBe(false);
      }
      const swapped =
        code.slice(0, i - 1) + code.charAt(i) + code.charAt(i - 1) + code.slice(i + 1);
      const isSame = swapped === code;
      expect(checkSign(swapped.slice(0, -1)) === swapped.slice(-1)).toBe(isSame);
    }
  });

  it('a station of another plant is nobody’s', () => {
    expect(readActCode(actCode({ act: 'end', station: 'press-9' }), stations)).toBeNull();
  });
});
