/** k = a · exp(−E / (R·T)), with T in kelvin. */
export interface Arrhenius {
  /** Pre-exponential factor [1/s]; may be negative where a publication fits it so. */
  aPerS: number;
  activationEnergyJPerMol: number;
}

/** Slows a kinetic law as the mix stiffens: rate / (1 + exp(c · (α − (alphaC0 + alphaCTPerK · T)))), T in kelvin. */
export interface Diffusion {
  c: number;
  alphaC0: number;
  alphaCTPerK: number;
}

/** Glass transition after DiBenedetto: Tg = tg0 + (tgInf − tg0) · λα / (1 − (1 − λ)α); no rate while T < Tg. */
export interface Glass {
  tg0C: number;
  tgInfC: number;
  lambda: number;
}

/** What any law may carry beside its own constants. */
export interface LawLimits {
  /** The range the source vouches for [°C]; outside it the low end earns nothing and the high end in full. */
  validC?: [number, number] | undefined;
  /** Below it nothing is earned [°C]: a hard limit, no rate. */
  floorC?: number | undefined;
  /** Above it the cure is not to be trusted [°C]. */
  ceilingC?: number | undefined;
  diffusion?: Diffusion | undefined;
  glass?: Glass | undefined;
  /** Degree of cure at the start [1]. */
  initial?: number | undefined;
  /** R [J/(mol·K)], pinned to compare with a publication; else the CODATA 2018 value. */
  gasConstant?: number | undefined;
  /** Where the constants come from. Recipes require it. */
  source?: string | undefined;
  /** Standard errors of the constants, by the constant's own name, in its unit; see {@link LawCovariance}. */
  standardErrors?: Record<string, number> | undefined;
  /** How the constants err together; what it names counts before `standardErrors`. */
  covariance?: LawCovariance | undefined;
}

/**
 * Covariance of a law's constants. They are fitted together and err together: an activation energy
 * too high comes with a pre-exponential factor too high, and at the fit's own temperatures the two
 * take each other out.
 */
export interface LawCovariance {
  /**
   * The law's own constants, with dots where they are nested: `k2.activationEnergyJPerMol`,
   * `switch.0.n`. `lnReferenceMin` beside them is ln of the minutes at `referenceC` that the window
   * asks for, where the same schedule gave them.
   */
  names: string[];
  /** Row and column as in `names`, in the product of both units; symmetric. */
  matrix: number[][];
}

export interface DegreeTime extends LawLimits {
  form: 'degree-time';
  baseC: number;
}

export interface EquivalentTime extends LawLimits {
  form: 'equivalent-time';
  referenceC: number;
  activationEnergyJPerMol: number;
}

export interface ZValue extends LawLimits {
  form: 'z-value';
  referenceC: number;
  /** Temperature rise that makes the rate ten times as great [K]. */
  zK: number;
}

/** dα/dt = k (1 − α)^n */
export interface NthOrder extends LawLimits, Arrhenius {
  form: 'n-th-order';
  n: number;
}

/** dα/dt = (k1 + k2 α^m) (1 − α)^n, times (b − α) where b is given. */
export interface Autocatalytic extends LawLimits {
  form: 'autocatalytic';
  k1?: Arrhenius | undefined;
  k2: Arrhenius;
  m: number;
  n: number;
  b?: number | undefined;
}

/** ∫ irradiance dt [mJ/cm²]; its segments are of irradiance [mW/cm²], not of temperature. */
export interface Dose extends LawLimits {
  form: 'dose';
}

export type PlainLaw = DegreeTime | EquivalentTime | ZValue | NthOrder | Autocatalytic | Dose;

/** One law up to a conversion, another after it. Every stage but the last names `untilAlpha`. */
export interface SwitchedLaw extends LawLimits {
  switch: ((NthOrder | Autocatalytic) & { untilAlpha?: number | undefined })[];
}

/** A cure law as it stands in a recipe or a law file. */
export type LawSpec = PlainLaw | SwitchedLaw;
