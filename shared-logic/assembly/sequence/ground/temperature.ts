/** How warm the board is. */
import { board } from '../../blocks';

/** @param volt_V - of the board's sensor @returns degrees Celsius */
export function boardTemperature_C(volt_V: f32): f32 { return 25 + (volt_V - board().temperature_V25) / board().temperature_V_per_K; }
