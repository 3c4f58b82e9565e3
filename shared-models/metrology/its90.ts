/**
 * Reference functions of thermocouple types K, J, T and N on the International Temperature Scale of
 * 1990, and their inverses.
 *
 * @source NIST Monograph 175 (1993) and NIST Standard Reference Database 60, version 2.0, "NIST ITS-90
 * Thermocouple Database" (public domain of the United States); the same functions are IEC 60584-1:2013,
 * annexes A and B
 */

/** A polynomial on its range: constant term first. */
export interface ForwardPiece {
  /** Inclusive [°C]. */
  fromC: number;
  toC: number;
  /** E = Σ cᵢ·tⁱ, E in mV, t in °C. */
  coefficients: readonly number[];
}

export interface InversePiece {
  /** Inclusive [mV]. */
  fromMv: number;
  toMv: number;
  /** t = Σ dᵢ·Eⁱ. */
  coefficients: readonly number[];
  /** Least and greatest error against the reference function on this range, as published [K]. */
  errorK: readonly [number, number];
}

export interface ReferenceFunction {
  forward: readonly ForwardPiece[];
  inverse: readonly InversePiece[];
  /** Type K above 0 °C adds a0·exp(a1·(t − a2)²) mV. */
  exponential: { a0Mv: number; a1: number; a2C: number } | null;
}

export type ThermocoupleType = 'K' | 'J' | 'T' | 'N';

export const its90: Record<ThermocoupleType, ReferenceFunction> = {
  K: {
    forward: [
      {
        fromC: -270,
        toC: 0,
        coefficients: [
          0, 0.039450128025, 2.3622373598e-5, -3.2858906784e-7, -4.9904828777e-9, -6.7509059173e-11,
          -5.7410327428e-13, -3.1088872894e-15, -1.0451609365e-17, -1.9889266878e-20,
          -1.6322697486e-23,
        ],
      },
      {
        fromC: 0,
        toC: 1372,
        coefficients: [
          -0.017600413686, 0.038921204975, 1.8558770032e-5, -9.9457592874e-8, 3.1840945719e-10,
          -5.6072844889e-13, 5.6075059059e-16, -3.2020720003e-19, 9.7151147152e-23,
          -1.2104721275e-26,
        ],
      },
    ],
    inverse: [
      {
        fromMv: -5.891,
        toMv: 0,
        coefficients: [
          0, 25.173462, -1.1662878, -1.0833638, -0.8977354, -0.37342377, -0.086632643, -0.010450598,
          -0.00051920577,
        ],
        errorK: [-0.02, 0.04],
      },
      {
        fromMv: 0,
        toMv: 20.644,
        coefficients: [
          0, 25.08355, 0.07860106, -0.2503131, 0.0831527, -0.01228034, 0.0009804036, -4.41303e-5,
          1.057734e-6, -1.052755e-8,
        ],
        errorK: [-0.05, 0.04],
      },
      {
        fromMv: 20.644,
        toMv: 54.886,
        coefficients: [
          -131.8058, 48.30222, -1.646031, 0.05464731, -0.0009650715, 8.802193e-6, -3.11081e-8,
        ],
        errorK: [-0.05, 0.06],
      },
    ],
    exponential: { a0Mv: 0.1185976, a1: -0.0001183432, a2C: 126.9686 },
  },
  J: {
    forward: [
      {
        fromC: -210,
        toC: 760,
        coefficients: [
          0, 0.050381187815, 3.047583693e-5, -8.568106572e-8, 1.3228195295e-10, -1.7052958337e-13,
          2.0948090697e-16, -1.2538395336e-19, 1.5631725697e-23,
        ],
      },
      {
        fromC: 760,
        toC: 1200,
        coefficients: [
          296.45625681, -1.4976127786, 0.0031787103924, -3.1847686701e-6, 1.5720819004e-9,
          -3.0691369056e-13,
        ],
      },
    ],
    inverse: [
      {
        fromMv: -8.095,
        toMv: 0,
        coefficients: [
          0, 19.528268, -1.2286185, -1.0752178, -0.59086933, -0.17256713, -0.028131513,
          -0.002396337, -8.3823321e-5,
        ],
        errorK: [-0.05, 0.03],
      },
      {
        fromMv: 0,
        toMv: 42.919,
        coefficients: [
          0, 19.78425, -0.2001204, 0.01036969, -0.0002549687, 3.585153e-6, -5.344285e-8,
          5.09989e-10,
        ],
        errorK: [-0.04, 0.04],
      },
      {
        fromMv: 42.919,
        toMv: 69.553,
        coefficients: [
          -3113.58187, 300.543684, -9.9477323, 0.17027663, -0.00143033468, 4.73886084e-6,
        ],
        errorK: [-0.04, 0.03],
      },
    ],
    exponential: null,
  },
  T: {
    forward: [
      {
        fromC: -270,
        toC: 0,
        coefficients: [
          0, 0.038748106364, 4.4194434347e-5, 1.1844323105e-7, 2.0032973554e-8, 9.0138019559e-10,
          2.2651156593e-11, 3.6071154205e-13, 3.8493939883e-15, 2.8213521925e-17, 1.4251594779e-19,
          4.8768662286e-22, 1.079553927e-24, 1.3945027062e-27, 7.9795153927e-31,
        ],
      },
      {
        fromC: 0,
        toC: 400,
        coefficients: [
          0, 0.038748106364, 3.329222788e-5, 2.0618243404e-7, -2.1882256846e-9, 1.0996880928e-11,
          -3.0815758772e-14, 4.547913529e-17, -2.7512901673e-20,
        ],
      },
    ],
    inverse: [
      {
        fromMv: -5.603,
        toMv: 0,
        coefficients: [
          0, 25.949192, -0.21316967, 0.79018692, 0.42527777, 0.13304473, 0.020241446, 0.0012668171,
        ],
        errorK: [-0.02, 0.04],
      },
      {
        fromMv: 0,
        toMv: 20.872,
        coefficients: [0, 25.928, -0.7602961, 0.04637791, -0.002165394, 6.048144e-5, -7.293422e-7],
        errorK: [-0.03, 0.03],
      },
    ],
    exponential: null,
  },
  N: {
    forward: [
      {
        fromC: -270,
        toC: 0,
        coefficients: [
          0, 0.026159105962, 1.0957484228e-5, -9.3841111554e-8, -4.6412039759e-11,
          -2.6303357716e-12, -2.2653438003e-14, -7.6089300791e-17, -9.3419667835e-20,
        ],
      },
      {
        fromC: 0,
        toC: 1300,
        coefficients: [
          0, 0.025929394601, 1.571014188e-5, 4.3825627237e-8, -2.5261169794e-10, 6.4311819339e-13,
          -1.0063471519e-15, 9.9745338992e-19, -6.0863245607e-22, 2.0849229339e-25,
          -3.0682196151e-29,
        ],
      },
    ],
    inverse: [
      {
        fromMv: -3.99,
        toMv: 0,
        coefficients: [
          0, 38.436847, 1.1010485, 5.2229312, 7.2060525, 5.8488586, 2.7754916, 0.77075166,
          0.11582665, 0.0073138868,
        ],
        errorK: [-0.02, 0.03],
      },
      {
        fromMv: 0,
        toMv: 20.613,
        coefficients: [
          0, 38.6896, -1.08267, 0.0470205, -2.12169e-6, -0.000117272, 5.3928e-6, -7.98156e-8,
        ],
        errorK: [-0.02, 0.03],
      },
      {
        fromMv: 20.613,
        toMv: 47.513,
        coefficients: [19.72485, 33.00943, -0.3915159, 0.009855391, -0.0001274371, 7.767022e-7],
        errorK: [-0.04, 0.02],
      },
    ],
    exponential: null,
  },
};
