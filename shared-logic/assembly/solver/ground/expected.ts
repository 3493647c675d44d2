/** How many coils there should be. */
import { Kind } from '../../layout';
import { evidence } from '../../blocks';


/** How many coils the person or the places say there are, 0 when nobody said. */
export function expectedCoils(): u32 {
  const kind: u32 = evidence().kind;
  if (kind == Kind.single) return 1;
  if (kind == Kind.sideBySide || kind == Kind.stacked) return 2;
  if (kind == Kind.three) return 3;
  return evidence().placeCount;
}
