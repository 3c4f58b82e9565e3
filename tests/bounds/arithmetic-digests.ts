import { createLaw } from '@setwell/shared-models/cure/create-law';
import type { LawSpec } from '@setwell/shared-models/cure/law-spec';
import { exp, expm1, tanh } from '@setwell/shared-models/units/exponential';
import {
  exponentialIntegral1,
  scaledExponentialIntegral2,
} from '@setwell/shared-models/units/exponential-integral';
import { log, log1p, pow } from '@setwell/shared-models/units/logarithm';

const count = 4_000;

const laws: Record<string, LawSpec> = {
  'equivalent-time': {
    form: 'equivalent-time',
    referenceC: 135,
    activationEnergyJPerMol: 90_000,
    floorC: 60,
  },
  'z-value': { form: 'z-value', referenceC: 121.11, zK: 10 },
  'n-th-order': { form: 'n-th-order', aPerS: 1e6, activationEnergyJPerMol: 70_000, n: 1.4 },
  autocatalytic: {
    form: 'autocatalytic',
    k2: { aPerS: 1.528e5, activationEnergyJPerMol: 66_500 },
    m: 0.8129,
    n: 2.736,
    initial: 0.01,
    diffusion: { c: 43.09, alphaC0: -1.684, alphaCTPerK: 5.475e-3 },
  },
};

/** One digest of bits a function and a law: plain arithmetic gives the same on every engine. */
export function arithmeticDigests(): Record<string, string> {
  const digests: Record<string, string> = {
    exp: digestOf((u) => exp(1500 * u - 760)),
    expm1: digestOf((u) => expm1(120 * u - 60)),
    log: digestOf((u) => log(exp(1400 * u - 700))),
    log1p: digestOf((u) => log1p(3 * u - 0.9)),
    tanh: digestOf((u) => tanh(50 * u - 25)),
    pow: digestOf((u, v) => pow(u, 5 * v)),
    exponentialIntegral1: digestOf((u) => exponentialIntegral1(60 * u + 1e-9)),
    scaledExponentialIntegral2: digestOf((u) => scaledExponentialIntegral2(60 * u)),
  };
  for (const [name, spec] of Object.entries(laws)) {
    const law = createLaw(spec);
    digests[`law ${name}`] = digestOf((u, v, w) =>
      law.advance(0.5 * w, 20 + 160 * u, 20 + 160 * v, 600 * w),
    );
  }
  return digests;
}

/** FNV-1a over the bits of the values, the arguments three numbers in 0…1. */
function digestOf(value: (u: number, v: number, w: number) => number): string {
  const view = new DataView(new ArrayBuffer(8));
  let hash = 0x811c9dc5;
  let seed = 1;
  const next = () => {
    seed = (seed * 16807) % 2147483647;
    return seed / 2147483647;
  };
  for (let i = 0; i < count; i++) {
    view.setFloat64(0, value(next(), next(), next()));
    for (let byte = 0; byte < 8; byte++) {
      hash = Math.imul(hash ^ view.getUint8(byte), 0x01000193) >>> 0;
    }
  }
  return hash.toString(16).padStart(8, '0');
}
