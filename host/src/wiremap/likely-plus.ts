/** Coils whose plus and minus are likely and not sure: nobody should solder on them without another touch. */
import { wireable, type Stackable } from './stacked.ts';
import { SURE, type WireMapCoil } from './wiremap.ts';

/** In the map's order; an inner stacked coil that is wired by its coupling is none of them, whatever a touch told of it. */
export function likelyCoils(map: Stackable): WireMapCoil[] {
  const { inner } = wireable(map);
  return map.coils.filter(({ name, plus, confidence = 1 }) => plus !== null && confidence < SURE && !inner.has(name));
}
