/** One step of a calibration taken into the page that the tester has: all else stays as it was. */
import {
  calibrationPage, calibrationValues, dayOf, isSoundPage, readCalibrationPage, type Calibration, type CalibrationStep,
} from '../logic/calibration-page.ts';

/**
 * @param used - what the tester has in use, 144 bytes @param step - that was taken @param change - what it found
 * @param date - 20261129 is the 29th of November 2026
 */
export function nextPage(used: Uint8Array, step: CalibrationStep, change: Partial<Calibration>, date: number): Uint8Array {
  const { head } = readCalibrationPage(used) ?? {};
  const values = calibrationValues(used);
  // A serial number that the flash itself gave is not on its page, whose check then does not fit.
  const serial = head !== undefined && isSoundPage(used) ? head.serial : '';
  return calibrationPage({ serial, writes: (head?.writes ?? 0) + 1, date }, {
    ...values, ...change, days: { ...values.days, [step]: dayOf(date) },
  });
}
