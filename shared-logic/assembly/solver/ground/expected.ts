/** How many coils there should be. */
import { Kind } from '../../layout';
import { evidence } from '../../blocks';
import { windingCount } from './workspace';


/** How many coils the person or the places say there are, 0 when nobody said. */
export function expectedCoils(): u32 {
  const kind: u32 = evidence().kind;
  if (kind == Kind.single) return 1;
  if (kind == Kind.sideBySide || kind == Kind.stacked) return 2;
  if (kind == Kind.three) return 3;
  return evidence().placeCount;
}

/** How many coils there may be: windings that were found, those that a person named, one for each place. */
export function mostCoils(): u32 { return max<u32>(windingCount, max<u32>(expectedCoils(), evidence().placeCount)); }
