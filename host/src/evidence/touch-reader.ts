/** What the module reads from the waveforms of one touch, through the one way in that records use too. */
import { ChannelEvidenceLayout, EntryKind, EVIDENCE_TOUCHES, TouchEvidenceLayout } from '../logic/layout.generated.ts';
import { createLogic } from '../logic/module.ts';
import { loadCapture, voltsChannel } from './capture.ts';
import { applyFields } from './entry.ts';

/** What one channel of a touch says; the fields of ChannelEvidence. */
export type ReadChannel = Readonly<
  Record<
    | 'flags' | 'flux_Wb' | 'u_flux_Wb' | 'signLogOdds' | 'touchLogOdds' | 'departure_Wb' | 'peak_V' | 'noise_V'
    | 'matched_d' | 'hum_V',
    number
  >
>;
export type ReadTouch = {
  readonly flags: number;
  readonly arrival_s: number;
  readonly departure_s: number;
  readonly contacts: number;
  readonly burst_ms: number;
  readonly channels: readonly ReadChannel[];
};

/** One instance of the module, used for any number of waveforms. */
export class TouchReader {
  readonly #logic = createLogic();

  /** Reads one capture.
   * @param volts_V - one list per channel, null where over range
   * @throws Error when the module has no use for it
   */
  read(volts_V: readonly (readonly (number | null)[])[], rate_Hz: number, start_s: number): ReadTouch {
    const logic = this.#logic;
    const expect = (refusal: number): void => {
      if (refusal !== 0) throw new Error(`the module refused an entry: ${refusal}`);
    };
    logic.calls.evidenceClear();
    expect(applyFields(logic, 0, { kind: EntryKind.begin, a: 0b111111, place: 1 }));
    const channels = volts_V.map((volts, k) => voltsChannel(1, k + 2, volts));
    loadCapture(logic, channels, rate_Hz, start_s);
    expect(applyFields(logic, 1, {
      kind: EntryKind.touch, a: 1, b: 2, place: 0, count: volts_V[0]!.length, v0: start_s, v1: rate_Hz,
    }));
    const { view } = logic;
    const at = EVIDENCE_TOUCHES;
    const f32 = (from: number, field: { at: number }): number => view.getFloat32(from + field.at, true);
    return {
      flags: view.getUint16(at + TouchEvidenceLayout.flags.at, true),
      arrival_s: f32(at, TouchEvidenceLayout.arrival_s),
      departure_s: f32(at, TouchEvidenceLayout.departure_s),
      contacts: view.getUint16(at + TouchEvidenceLayout.contacts.at, true),
      burst_ms: view.getUint16(at + TouchEvidenceLayout.burst_ms.at, true),
      channels: volts_V.map((_, k) => {
        const from = at + TouchEvidenceLayout.size + k * ChannelEvidenceLayout.size;
        return {
          flags: view.getUint16(from + ChannelEvidenceLayout.flags.at, true),
          flux_Wb: f32(from, ChannelEvidenceLayout.flux_Wb),
          u_flux_Wb: f32(from, ChannelEvidenceLayout.u_flux_Wb),
          signLogOdds: f32(from, ChannelEvidenceLayout.signLogOdds),
          touchLogOdds: f32(from, ChannelEvidenceLayout.touchLogOdds),
          departure_Wb: f32(from, ChannelEvidenceLayout.departure_Wb),
          peak_V: f32(from, ChannelEvidenceLayout.peak_V),
          noise_V: f32(from, ChannelEvidenceLayout.noise_V),
          matched_d: f32(from, ChannelEvidenceLayout.matched_d),
          hum_V: f32(from, ChannelEvidenceLayout.hum_V),
        };
      }),
    };
  }
}
