/** Leads that lost contact while a touch was listened to: which, as far as the channels tell. */
import { CLIP_COUNT, EVIDENCE, Evidence, Finding, FindingText, NONE, Severity, TouchFlag } from '../../layout';
import { touchEvidence } from '../../blocks';
import { addClipFinding } from '../ground/findings';
import { channelAt } from '../ground/witness';

/** Tells each touch with a burst: the clip that all channels with one have and no other channel does, or the two it may be. */
export function tellBursts(): void {
  for (let t: u32 = 0; t < <u32>changetype<Evidence>(<usize>EVIDENCE).touchCount; t++) {
    const clips = suspects(t);
    if (clips == 0) continue;
    const first = ctz<u32>(clips);
    const rest = clips & (clips - 1);
    const second = rest == 0 ? NONE : ctz<u32>(rest);
    addClipFinding(Finding.intermittent, Severity.warning, FindingText.contactBurst, first, second, NONE).place = touchEvidence(t).place;
  }
}

/** Clips that explain the bursts of a touch, a bit each; 0 for no bursts. */
function suspects(t: u32): u32 {
  let common: u32 = (1 << CLIP_COUNT) - 1;
  let any: u32 = 0;
  let quiet: u32 = 0;
  for (let c: u32 = 0; c < <u32>touchEvidence(t).channelCount; c++) {
    const channel = channelAt(t, c);
    const ends: u32 = <u32>1 << (<u32>channel.plus - 1) | <u32>1 << (<u32>channel.minus - 1);
    if ((channel.flags & <u16>TouchFlag.burst) == 0) {
      quiet |= ends;
      continue;
    }
    common &= ends;
    any |= ends;
  }
  if (any == 0) return 0;
  // Two leads that let go at once leave nothing in common; a clip that a quiet channel uses had contact.
  const suspected = common != 0 ? common : any;
  return (suspected & ~quiet) != 0 ? suspected & ~quiet : suspected;
}
