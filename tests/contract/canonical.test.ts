import { describe, expect, it } from 'vitest';
import { canonicalJson } from '@setwell/shared-models/record/canonical';

/** @source RFC 8785, appendix B */
const numbers: [string, string][] = [
  ['0000000000000000', '0'],
  ['8000000000000000', '0'],
  ['0000000000000001', '5e-324'],
  ['8000000000000001', '-5e-324'],
  ['7fefffffffffffff', '1.7976931348623157e+308'],
  ['ffefffffffffffff', '-1.7976931348623157e+308'],
  ['4340000000000000', '9007199254740992'],
  ['c340000000000000', '-9007199254740992'],
  ['4430000000000000', '295147905179352830000'],
  ['44b52d02c7e14af5', '9.999999999999997e+22'],
  ['44b52d02c7e14af6', '1e+23'],
  ['44b52d02c7e14af7', '1.0000000000000001e+23'],
  ['444b1ae4d6e2ef4e', '999999999999999700000'],
  ['444b1ae4d6e2ef4f', '999999999999999900000'],
  ['444b1ae4d6e2ef50', '1e+21'],
  ['3eb0c6f7a0b5ed8c', '9.999999999999997e-7'],
  ['3eb0c6f7a0b5ed8d', '0.000001'],
  ['41b3de4355555553', '333333333.3333332'],
  ['41b3de4355555554', '333333333.33333325'],
  ['41b3de4355555555', '333333333.3333333'],
  ['41b3de4355555556', '333333333.3333334'],
  ['41b3de4355555557', '333333333.33333343'],
  ['becbf647612f3696', '-0.0000033333333333333333'],
  ['43143ff3c1cb0959', '1424953923781206.2'],
];

describe('canonical JSON', () => {
  it.each(numbers)('writes the double %s as %s', (hex, text) => {
    expect(canonicalJson(Buffer.from(hex, 'hex').readDoubleBE())).toBe(text);
  });

  it('sorts members by UTF-16 code units (RFC 8785, 3.2.3)', () => {
    const value = {
      '€': 'Euro Sign',
      '\r': 'Carriage Return',
      '\ufb33': 'Hebrew Letter Dalet With Dagesh',
      '1': 'One',
      '😀': 'Emoji: Grinning Face',
      '\u0080': 'Control',
      ö: 'Latin Small Letter O With Diaeresis',
    };
    expect(Object.values(JSON.parse(canonicalJson(value)) as object)).toEqual([
      'One',
      'Carriage Return',
      'Control',
      'Latin Small Letter O With Diaeresis',
      'Euro Sign',
      'Emoji: Grinning Face',
      'Hebrew Letter Dalet With Dagesh',
    ]);
    expect(canonicalJson({ b: 1, a: { d: [2, null, true], c: 'x' } })).toBe(
      '{"a":{"c":"x","d":[2,null,true]},"b":1}',
    );
  });

  it('escapes only what it must (RFC 8785, 3.2.2)', () => {
    expect(canonicalJson('€$\u000f\nA\'B"\\\\"/')).toBe('"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"');
  });

  it('leaves out members that are undefined', () => {
    expect(canonicalJson({ a: undefined, b: 1 })).toBe('{"b":1}');
  });

  it.each([NaN, Infinity, -Infinity, undefined, 1n, () => 1, '\ud800', [undefined]])(
    'refuses %s',
    (value) => {
      expect(() => canonicalJson(value)).toThrow(RangeError);
    },
  );
});
