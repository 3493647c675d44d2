/** Numbers that both file formats use, with their units and bounds. */
import type { NumberRange } from './field-walk.ts';
import {
  FARAD_MOST,
  HENRY_MOST,
  OHM_MOST,
  RATE_Hz_LEAST,
  RATE_Hz_MOST,
  SECONDS_MOST,
  TEMPERATURE_C_LEAST,
  TEMPERATURE_C_MOST,
  TESLA_MOST,
  TOUCH_s_MOST,
  VOLT_MOST,
  WEBER_MOST,
} from './limits.ts';

function fromZero(unit: string, most: number): NumberRange {
  return { unit, least: 0, most, expected: `${unit}, 0 or more` };
}

function aboveZero(unit: string, most: number): NumberRange {
  return { unit, least: 0, most, above: true, expected: `${unit} above 0` };
}

function eitherSign(unit: string, most: number): NumberRange {
  return { unit, least: -most, most, expected: unit };
}

export const OHM = fromZero('ohms', OHM_MOST);
export const OHM_ABOVE_0 = aboveZero('ohms', OHM_MOST);
export const HENRY = fromZero('henries', HENRY_MOST);
export const HENRY_ABOVE_0 = aboveZero('henries', HENRY_MOST);
export const MUTUAL_HENRY = eitherSign('henries', HENRY_MOST);
export const FARAD = fromZero('farads', FARAD_MOST);
export const FARAD_ABOVE_0 = aboveZero('farads', FARAD_MOST);
export const VOLT = eitherSign('volts', VOLT_MOST);
export const VOLT_SIZE = fromZero('volts', VOLT_MOST);
export const TESLA_SIZE = fromZero('teslas', TESLA_MOST);
export const WEBER_SIZE = fromZero('webers', WEBER_MOST);
export const SECONDS = eitherSign('seconds', SECONDS_MOST);
export const DURATION = fromZero('seconds', SECONDS_MOST);
export const TOUCH_DURATION = fromZero('seconds', TOUCH_s_MOST);
export const DURATION_ABOVE_0 = aboveZero('seconds', SECONDS_MOST);
export const HERTZ_SIZE = fromZero('hertz', RATE_Hz_MOST);
export const HERTZ_ABOVE_0 = aboveZero('hertz', RATE_Hz_MOST);
export const RATE: NumberRange = {
  unit: 'hertz',
  least: RATE_Hz_LEAST,
  most: RATE_Hz_MOST,
  expected: `hertz, ${RATE_Hz_LEAST} to ${RATE_Hz_MOST}`,
};
export const TEMPERATURE: NumberRange = {
  unit: 'degrees Celsius',
  least: TEMPERATURE_C_LEAST,
  most: TEMPERATURE_C_MOST,
  expected: `degrees Celsius, ${TEMPERATURE_C_LEAST} to ${TEMPERATURE_C_MOST}`,
};
/** A share of something: the ends are excluded by `FRACTION`, included by `SHARE`. */
export const SHARE: NumberRange = {
  unit: 'a share',
  least: 0,
  most: 1,
  expected: 'a share, 0 to 1',
};
export const MISFIT = fromZero('a share of the peak', 10);
export const RATIO: NumberRange = {
  unit: 'a ratio',
  least: -10,
  most: 10,
  expected: 'a ratio, -10 to 10',
};
