import { resistanceTypes } from '../metrology/resistance.ts';
import { thermocoupleTypes } from '../metrology/thermocouple.ts';
import { elementTypeNamed } from '../metrology/tolerance.ts';
import { celsiusOfFahrenheit } from '../units/temperature.ts';
import type { Path } from './located-yaml.ts';
import type { Tell } from './tell.ts';
import { type Calibration, type SensorFile, temperatureSignals } from './plant-schema.ts';

/** Hotter than any glue line or coat that can be meant: probably °F [°C]. */
const hardlyCelsiusC = 400;

/** What is wrong within one sensor or point. */
export function tellSensor(sensor: SensorFile, path: Path, tell: Tell): void {
  const { signal, plausible, everyS, report, calibration } = sensor;
  const temperature = (temperatureSignals as readonly string[]).includes(signal);
  if (temperature !== 'minC' in plausible) {
    tell([...path, 'plausible'], {
      code: 'wrong-unit',
      found: `${'minC' in plausible ? 'minC, maxC' : 'min, max'} beside the signal ${signal}`,
      expected: temperature ? 'minC, maxC and maxRateKPerMin' : `min and max, in ${signal}`,
    });
  }
  const [min, max] =
    'minC' in plausible ? [plausible.minC, plausible.maxC] : [plausible.min, plausible.max];
  if (min >= max) {
    tell([...path, 'plausible'], {
      code: 'contradiction',
      found: `${min} to ${max}`,
      expected: 'a least below the greatest',
    });
  }
  if ('minC' in plausible && plausible.maxC > hardlyCelsiusC) {
    tell([...path, 'plausible', 'maxC'], {
      code: 'fahrenheit',
      severity: 'warning',
      found: `${plausible.maxC}`,
      expected: `°C: is it ${Math.floor(celsiusOfFahrenheit(plausible.maxC))} °C, written in °F?`,
    });
  }
  if (everyS !== undefined && report !== undefined) {
    tell([...path, 'report'], {
      code: 'contradiction',
      found: 'everyS and report',
      expected: 'everyS, or report where it speaks on change',
    });
  }
  if (report !== undefined && 'onChangeK' in report !== temperature) {
    tell([...path, 'report'], {
      code: 'wrong-unit',
      found: `${'onChangeK' in report ? 'onChangeK' : 'onChange'} beside the signal ${signal}`,
      expected: temperature ? 'onChangeK' : `onChange, in ${signal}`,
    });
  }
  if (calibration !== undefined) tellCalibration(calibration, [...path, 'calibration'], tell);
}

/** What turns resistance or millivolts into a temperature: without it none of the readings counts. */
export function tellElement({ signal, element }: SensorFile, path: Path, tell: Tell): void {
  if (signal !== 'ohm' && signal !== 'millivolt') return;
  const types: readonly string[] = signal === 'ohm' ? resistanceTypes : thermocoupleTypes;
  if (element === undefined) {
    tell([...path, 'signal'], {
      code: 'missing-key',
      found: `${signal} without an element`,
      expected: `element: { type: … } of ${types.join(', ')}, which turns it into a temperature`,
    });
  } else if (!types.includes(elementTypeNamed(element.type) ?? '')) {
    tell([...path, 'element', 'type'], {
      code: 'contradiction',
      found: `${JSON.stringify(element.type)} beside the signal ${signal}`,
      expected: `one of ${types.join(', ')}`,
    });
  } else if (signal === 'millivolt' && element.terminalsC === undefined) {
    tell([...path, 'element'], {
      code: 'missing-key',
      found: 'millivolt without terminalsC',
      expected: 'terminalsC: temperature of the terminals, 0 where the input makes up for it',
    });
  }
}

/**
 * What is wrong within an instrument's calibrations. One that is made before the last is due overlaps it,
 * and counts from its day on; one that is due before an older one leaves two for the days between.
 */
export function tellCalibrations(calibrations: Calibration[], path: Path, tell: Tell): void {
  calibrations.forEach((calibration, index) => {
    tellCalibration(calibration, [...path, index], tell);
    const { date, due } = calibration;
    const before = calibrations.slice(0, index);
    const sameDay = before.find((each) => each.date === date);
    if (sameDay !== undefined) {
      tell([...path, index, 'date'], {
        code: 'date-twice',
        found: `${date}, the date of ${sameDay.certificate} too`,
        expected: 'one calibration a day, so that one of them is the newer',
      });
    }
    const nested = before.find((each) =>
      each.date < date ? each.due > due : each.date > date && each.due < due,
    );
    if (nested !== undefined) {
      tell([...path, index, 'due'], {
        code: 'overlapping-validity',
        found: `${date} to ${due}, and ${nested.certificate} ${nested.date} to ${nested.due}`,
        expected: 'the later certificate due after the earlier: two would vouch for one day',
      });
    }
  });
}

/** What is wrong within one calibration. */
function tellCalibration(calibration: Calibration, path: Path, tell: Tell): void {
  const { date, due, points } = calibration;
  const [only] = points;
  if (only !== undefined && points.length === 1) {
    tell([...path, 'points'], {
      code: 'one-point',
      severity: 'warning',
      found: `one point, ${only.atC} °C`,
      expected: 'two or more: readings are corrected between calibrated temperatures, not beyond',
    });
  }
  // ISO dates compare as texts.
  if (due <= date) {
    tell([...path, 'due'], { code: 'descending', found: due, expected: `a date after ${date}` });
  }
  for (const list of ['points', 'asFound', 'asLeft'] as const) {
    const rows = calibration[list] ?? [];
    rows.forEach(({ atC }, index) => {
      const before = rows[index - 1];
      if (before === undefined || atC > before.atC) return;
      tell([...path, list, index, 'atC'], {
        code: 'descending',
        found: `${atC} after ${before.atC}`,
        expected: 'temperatures that rise down the list',
      });
    });
  }
}
