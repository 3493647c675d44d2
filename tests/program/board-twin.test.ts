/** The board twin as a host sees it: reports only; and what it does to the pickup on the way. */
import { describe, expect, it } from 'vitest';
import { examplePickup } from '../../host/src/files/example-files.ts';
import { asPickup } from '../../host/src/pickup/pickup-file.ts';
import { EntryFlag, EntryKind, LogEntryLayout } from '../../host/src/logic/layout.generated.ts';
import { logicModule } from '../../host/src/logic/module.ts';
import { decodeReport, ReportEncoder, type TesterReport } from '../../host/src/transport/reports.ts';
import { BoardTwin, type BoardTwinOptions } from '../../host/src/virtual-bench/board-twin.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';

const EXAMPLE = asPickup(examplePickup());
const PICKUP: Pickup = {
  ...EXAMPLE,
  temperature_C: 20,
  coils: [{ ...EXAMPLE.coils[0]!, place: 'single' }],
  couplings: [],
  leads: EXAMPLE.leads.slice(0, 2),
  faults: [],
  touches: [{ coil: 'u', flux_Wb: 2e-3, rise_s: 0.004, hold_s: 0.3, fall_s: 0.007 }],
};

interface Command {
  readonly name: string;
  readonly value: number;
  readonly time_s: number;
}

interface Session {
  readonly reports: readonly TesterReport[];
  readonly raw: readonly Uint8Array[];
  readonly commands: readonly Command[];
}

/** Runs one test to its first entry of a kind (its end when left out), acknowledging everything. */
async function session(
  pickup: Pickup,
  seed: number,
  more: Partial<BoardTwinOptions> = {},
  until: number = EntryKind.end,
): Promise<Session> {
  const reports: TesterReport[] = [];
  const raw: Uint8Array[] = [];
  const commands: Command[] = [];
  const twin = new BoardTwin({
    pickup,
    seed,
    onCommand: (name, value, time_s) => commands.push({ name, value, time_s }),
    ...more,
  });
  const encoder = new ReportEncoder();
  await new Promise<void>((resolve, reject) => {
    let started = false;
    twin.onClosed = ({ sentence }) => reject(new Error(sentence));
    twin.onReport = (bytes) => {
      const report = decodeReport(bytes);
      reports.push(report);
      raw.push(bytes);
      if (report.kind === 'identity' && !started) {
        started = true;
        const clipMask = pickup.leads.reduce((mask, { clip }) => mask | (1 << (clip - 1)), 0);
        const placeCount = new Set(pickup.coils.map(({ place }) => place)).size;
        void twin.write(encoder.setup({ clipMask, bareMask: 0, kind: 0, placeCount }));
        void twin.write(encoder.button(1));
      }
      if (report.kind === 'entry') {
        void twin.write(encoder.acknowledge(report.test, report.number + 1));
        if (report.bytes[LogEntryLayout.kind.at] === until) resolve();
      }
    };
    void twin.open().then(() => twin.write(encoder.hello()));
  });
  await twin.close();
  return { reports, raw, commands };
}

/** Entries of one kind, as kind-specific numbers. */
function entries(reports: readonly TesterReport[], kind: number): DataView[] {
  return reports
    .filter((report) => report.kind === 'entry')
    .filter(({ bytes }) => bytes[LogEntryLayout.kind.at] === kind)
    .map(({ bytes }) => new DataView(bytes.buffer, bytes.byteOffset));
}

describe('the board twin', () => {
  it('says who it is: a serial number that begins with TWIN- and the hash of the module it runs', async () => {
    const { reports } = await session(PICKUP, 1);
    const identity = reports.find((report) => report.kind === 'identity')!;
    expect(identity.serial).toMatch(/^TWIN-/);
    expect(identity.moduleHash).toBe(logicModule().sha256);
  });

  it('reads 4100 ohm of copper within the 0.05 % of its reference, leads included', async () => {
    const { reports } = await session(PICKUP, 2);
    const [reading] = entries(reports, EntryKind.resistance);
    const ohm = reading.getFloat32(LogEntryLayout.v0.at, true);
    expect(Math.abs(ohm / 4100.1 - 1)).toBeLessThan(0.00055);
  });

  it('sends the same reports for the same seed, byte for byte, and others for another', async () => {
    const bytes = async (seed: number): Promise<string> =>
      Buffer.concat((await session(PICKUP, seed)).raw).toString('hex');
    const once = await bytes(3);
    expect(await bytes(3)).toBe(once);
    expect(await bytes(4)).not.toBe(once);
  });

  it('paced by a real clock does what it does unpaced', async () => {
    const elapsed_ms = (): number => performance.now();
    const { resistance } = EntryKind;
    const paced = await session(PICKUP, 3, { elapsed_ms }, resistance);
    const unpaced = await session(PICKUP, 3, {}, resistance);
    const reading = (of: Session): number =>
      entries(of.reports, resistance)[0].getFloat32(LogEntryLayout.v0.at, true);
    expect(reading(paced)).toBeCloseTo(reading(unpaced), 0);
  });

  it('moves its switches only while the current source is off', async () => {
    for (const pickup of [PICKUP, demoLot[0]]) {
      const { commands } = await session(pickup, 5);
      let current_nA = 0;
      let word = 0;
      for (const { name, value } of commands) {
        if (name === 'drive') current_nA = value;
        if (name !== 'switches') continue;
        if (value !== word) expect(current_nA).toBe(0);
        word = value;
      }
    }
  });

  it('drives nothing into a pickup that has a voltage on its leads', async () => {
    const live: Pickup = {
      ...PICKUP,
      faults: [{ kind: 'live', between: ['u0', 'u1'], volt_V: 0.4 }],
    };
    const { reports, commands } = await session(live, 6);
    expect(entries(reports, EntryKind.live)).toHaveLength(1);
    expect(commands.filter(({ name, value }) => name === 'drive' && value > 0)).toHaveLength(0);
    for (const { name, value } of commands) {
      // DRV on the current source or on a step (S1 to S3), bits 24 to 27: never.
      if (name === 'switches') expect([8, 9, 10]).not.toContain((value >>> 24) & 15);
    }
  });

  it('reads a lead that lost contact for 50 ms differently, and right again afterwards', async () => {
    const loose: Pickup = {
      ...PICKUP,
      faults: [{ kind: 'intermittent', clip: 2, from_s: 0.31, to_s: 0.36 }],
    };
    const { reports } = await session(loose, 7);
    const ohms = entries(reports, EntryKind.resistance)
      .filter((entry) => (entry.getUint8(LogEntryLayout.flags.at) & EntryFlag.open) === 0)
      .map((entry) => entry.getFloat32(LogEntryLayout.v0.at, true));
    const spread = Math.max(...ohms) - Math.min(...ohms);
    expect(spread).toBeGreaterThan(10);
    expect(Math.abs(ohms[ohms.length - 1] / 4100.1 - 1)).toBeLessThan(0.00055);
  });
});
