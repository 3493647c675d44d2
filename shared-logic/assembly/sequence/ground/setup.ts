/** What lies on the bench: asked once per lot by the host; without a host, all six clips and two places. */
import { Cover, Kind, MAX_PLACES, Refusal, SetupReport } from '../../layout';

export let clipMask: u32 = 0x3f;
export let bareMask: u32 = 0;
export let kind: u32 = Kind.unknown;
/** Whether metal lies over the coils, `Cover`. */
export let cover: u32 = Cover.unknown;
export let placeCount: u32 = 2;
export let skipMagnets: bool = false;
/** Whether ohms are told with the tester's own leads. */
export let withLeads: bool = false;
export let temperatureGiven: bool = false;
export let givenTemperature_C: f32 = 0;
/** The day, as a calibration counts it; 0: nobody said. */
export let today: u32 = 0;
/** Whether a host has set anything up since the start. */
export let setupDone: bool = false;

/** As after power-on: nothing was set up. */
export function resetSetup(): void {
  clipMask = 0x3f;
  bareMask = 0;
  kind = Kind.unknown;
  cover = Cover.unknown;
  placeCount = 2;
  skipMagnets = false;
  withLeads = false;
  temperatureGiven = false;
  today = 0;
  setupDone = false;
}

/** Takes a setup report. @returns `Refusal` */
export function takeSetup(report: SetupReport): u32 {
  const clips = <u32>report.clipMask;
  const bare = <u32>report.bareMask;
  const kindAsked = <u32>report.kind;
  const places = <u32>report.placeCount;
  const flags = <u32>report.flags;
  const temperature_C = report.temperature_C;
  if (clips == 0 || clips > 0x3f || (bare & ~clips) != 0) return Refusal.content;
  if (kindAsked > <u32>Kind.stacked || places == 0 || places > MAX_PLACES || flags > 7) return Refusal.content;
  if (<u32>report.cover > <u32>Cover.metal) return Refusal.content;
  if (!(temperature_C >= -40 && temperature_C <= 80)) return Refusal.content;
  clipMask = clips;
  bareMask = bare;
  kind = kindAsked;
  cover = report.cover;
  placeCount = places;
  skipMagnets = (flags & 1) != 0;
  temperatureGiven = (flags & 2) != 0;
  withLeads = (flags & 4) != 0;
  givenTemperature_C = temperature_C;
  today = report.today;
  setupDone = true;
  return Refusal.none;
}
