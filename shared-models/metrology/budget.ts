export type DoubtSource =
  'calibration' | 'tolerance' | 'resolution' | 'seat' | 'place' | 'drift' | 'noise';

/**
 * One thing that makes a reading doubtful, as it is known. All are temperatures already, so that every
 * sensitivity coefficient is 1.
 */
export type Doubt = { source: DoubtSource } & (ExpandedDoubt | BoundedDoubt | ObservedDoubt);

/** A certificate's expanded uncertainty with its coverage factor. */
interface ExpandedDoubt {
  distribution: 'normal';
  expandedK: number;
  k: number;
}

/** Somewhere inside ±halfWidthK, nowhere likelier than elsewhere. */
interface BoundedDoubt {
  distribution: 'rectangular';
  halfWidthK: number;
}

/** A standard deviation seen in readings. */
interface ObservedDoubt {
  distribution: 'observed';
  standardK: number;
  degreesOfFreedom: number;
}

/** A row of the budget as a metrologist reads it: value / divisor = standard uncertainty. */
export interface UncertaintyRow {
  source: DoubtSource;
  /** A: from readings, by statistics. B: from anything else. */
  evaluation: 'A' | 'B';
  distribution: Doubt['distribution'];
  valueK: number;
  divisor: number;
  standardK: number;
  /** Part of the combined variance [1]. */
  share: number;
  /** Null: without limit, as for every value of evaluation B. */
  degreesOfFreedom: number | null;
}

export interface UncertaintyBudget {
  rows: UncertaintyRow[];
  /** Combined standard uncertainty. */
  combinedK: number;
  /** Coverage factor of `expandedK`, about 95 % where the degrees of freedom are many. */
  k: 2;
  expandedK: number;
  /** Welch-Satterthwaite; null: without limit. */
  effectiveDegreesOfFreedom: number | null;
}

/**
 * Uncertainty budget of a reading.
 *
 *   u = √Σ uᵢ²,  U = 2·u,  ν = u⁴ / Σ (uᵢ⁴ / νᵢ)
 *
 * The doubts are taken as independent. Each is counted once: a reading corrected by a certificate has
 * that certificate's doubt in place of its element's tolerance, unless the certificate excludes it.
 *
 * @source JCGM 100:2008 (GUM), 4.2, 4.3.7, 5.1.2 (eq. 10), 6.2.1, G.4.1 (eq. G.2b)
 */
export function uncertaintyBudget(doubts: readonly Doubt[]): UncertaintyBudget {
  const rows = doubts.map(rowOf);
  const variance = rows.reduce((sum, { standardK }) => sum + standardK * standardK, 0);
  const combinedK = Math.sqrt(variance);
  let perFreedom = 0;
  for (const row of rows) {
    const ownVariance = row.standardK * row.standardK;
    row.share = variance > 0 ? ownVariance / variance : 0;
    if (row.degreesOfFreedom !== null) {
      perFreedom += (ownVariance * ownVariance) / row.degreesOfFreedom;
    }
  }
  return {
    rows,
    combinedK,
    k: 2,
    expandedK: 2 * combinedK,
    effectiveDegreesOfFreedom: perFreedom > 0 ? (variance * variance) / perFreedom : null,
  };
}

function rowOf(doubt: Doubt): UncertaintyRow {
  const { source, distribution } = doubt;
  const row = (valueK: number, divisor: number): UncertaintyRow => ({
    source,
    evaluation: 'B',
    distribution,
    valueK,
    divisor,
    standardK: valueK / divisor,
    share: 0,
    degreesOfFreedom: null,
  });
  switch (doubt.distribution) {
    case 'normal':
      return row(doubt.expandedK, doubt.k);
    case 'rectangular':
      return row(doubt.halfWidthK, Math.sqrt(3));
    case 'observed':
      return {
        ...row(doubt.standardK, 1),
        evaluation: 'A',
        degreesOfFreedom: doubt.degreesOfFreedom,
      };
  }
}

/** The last digit of a display or converter: the true value lies anywhere inside it. */
export function resolutionDoubt(resolutionK: number): Doubt {
  return { source: 'resolution', distribution: 'rectangular', halfWidthK: resolutionK / 2 };
}
