/** A step's result, written in place: the integrator is called a hundred thousand times a second. */
export interface Step {
  /** Degree of cure after it [1]. */
  alpha: number;
  /** Estimated error of `alpha` [1]. */
  error: number;
}

/**
 * One Dormand-Prince step of dα/dt = rate(α, T) while T runs linearly.
 *
 * @param fromK temperature at the step's start [K]
 * @param slopeKPerS [K/s]
 * @param durationS [s]
 * @param step where the result goes
 * @source Hairer, Nørsett & Wanner, Solving Ordinary Differential Equations I, 2nd ed., table II.5.2
 */
export function dormandPrinceStep(
  ratePerS: (alpha: number, tempK: number) => number,
  alpha: number,
  fromK: number,
  slopeKPerS: number,
  durationS: number,
  step: Step,
): void {
  const h = durationS;
  const riseK = slopeKPerS * h;
  const toK = fromK + riseK;
  const k1 = h * ratePerS(alpha, fromK);
  const k2 = h * ratePerS(alpha + k1 / 5, fromK + riseK / 5);
  const k3 = h * ratePerS(alpha + (3 * k1) / 40 + (9 * k2) / 40, fromK + 0.3 * riseK);
  const k4 =
    h * ratePerS(alpha + (44 * k1) / 45 - (56 * k2) / 15 + (32 * k3) / 9, fromK + 0.8 * riseK);
  const k5 =
    h *
    ratePerS(
      alpha + (19372 * k1) / 6561 - (25360 * k2) / 2187 + (64448 * k3) / 6561 - (212 * k4) / 729,
      fromK + (8 / 9) * riseK,
    );
  const k6 =
    h *
    ratePerS(
      alpha +
        (9017 * k1) / 3168 -
        (355 * k2) / 33 +
        (46732 * k3) / 5247 +
        (49 * k4) / 176 -
        (5103 * k5) / 18656,
      toK,
    );
  const end =
    alpha +
    (35 * k1) / 384 +
    (500 * k3) / 1113 +
    (125 * k4) / 192 -
    (2187 * k5) / 6784 +
    (11 * k6) / 84;
  const k7 = h * ratePerS(end, toK);
  step.alpha = end;
  step.error = Math.abs(
    (71 * k1) / 57600 -
      (71 * k3) / 16695 +
      (71 * k4) / 1920 -
      (17253 * k5) / 339200 +
      (22 * k6) / 525 -
      k7 / 40,
  );
}
