/**
 * rp2040js 1.4.1 knows no suspend and no resume in device mode, and counts no frames. This lets the simulated host cause both as
 * silicon tells of them (RP2040 data sheet 4.1.4): SIE_STATUS.SUSPENDED is the state and cannot be written; the interrupt
 * DEV_SUSPEND is raised when that state changes, either way, and a write of a one to SUSPENDED takes the interrupt back.
 * SOF_RD counts frames, but for those of a bus that sleeps.
 */
import type { RP2040 } from 'rp2040js';

const SOF_RD = 0x48;
const SIE_STATUS = 0x50;
const SUSPENDED = 1 << 4;
const RESUME = 1 << 11;
const INT_DEV_SUSPEND = 1 << 14;
const FRAME_ns = 1e6;
const FRAMES = 0x7ff;
/** A host that wakes a bus drives it for 20 ms (USB 2.0, 7.1.7.7); only then is it active again. */
const RESUME_ns = 20e6;

type Insides = {
  sieStatus: number; intRaw: number; rawWriteValue: number; sieStatusUpdated(): void; checkInterrupts(): void;
};

export type BusPower = { suspend(): void; resume(): void };

export function patchUsbSuspend(chip: RP2040): BusPower {
  const { usbCtrl, clock } = chip;
  const insides = usbCtrl as unknown as Insides;
  const read = usbCtrl.readUint32.bind(usbCtrl);
  const write = usbCtrl.writeUint32.bind(usbCtrl);
  const update = insides.sieStatusUpdated.bind(usbCtrl);
  let changed = false;
  let frozen = -1;
  const frame = (): number => Math.floor((clock as unknown as { nanos: number }).nanos / FRAME_ns) & FRAMES;
  insides.sieStatusUpdated = () => {
    update();
    insides.intRaw = (insides.intRaw & ~INT_DEV_SUSPEND) | (changed ? INT_DEV_SUSPEND : 0);
    insides.checkInterrupts();
  };
  usbCtrl.readUint32 = (offset) => (offset === SOF_RD ? (frozen < 0 ? frame() : frozen) : read(offset));
  usbCtrl.writeUint32 = (offset, value) => {
    if (offset === SIE_STATUS && insides.rawWriteValue & SUSPENDED) changed = false;
    write(offset, value);
  };
  const become = (suspended: boolean): void => {
    if (((insides.sieStatus & SUSPENDED) !== 0) === suspended) return;
    insides.sieStatus ^= SUSPENDED;
    changed = true;
    frozen = suspended ? frame() : -1;
    insides.sieStatusUpdated();
  };
  const awake = clock.createAlarm(() => become(false));
  return {
    suspend: () => become(true),
    resume() {
      if ((insides.sieStatus & SUSPENDED) === 0) return;
      insides.sieStatus |= RESUME;
      insides.sieStatusUpdated();
      awake.schedule(RESUME_ns);
    },
  };
}
