/**
 * Raw looks for a calibration. What an open clip holds is cut from its drive again and again, and its fall is added up sample by
 * sample; the bleed that it falls through is read once. What follows from it is the host's to find (host/src/calibrating/): nothing
 * of it is evidence.
 */
import {
  Answer, BURST_B, BURST_SAMPLES, CAPTURE, CLIP_COUNT, OVERRANGE, Rate, SURVEY_CLIP_SAMPLES, SURVEY_LEAD, SURVEY_bytes, Step, Survey,
} from '../../layout';
import {
  DRV_CURRENT, DRV_MINUS, DRV_PLUS, RET_BLEED, RET_MEGOHM, RET_REFERENCE, SENSE_REFERENCE, SENSE_RETURN, drivePort, ground1, ground2,
} from '../ground/matrix';
import { convertOperation, cutsOperation } from '../ground/operation';
import { surveyClip, surveyWhat } from '../ground/reports';
import { LEAST_nA, LEAST_settle_us } from '../ground/resistance';
import { setStep, setWork } from '../ground/status';

/** 64 cuts 31.25 ms apart, and 64 in 200 ms, are whole periods of 50 and 60 Hz. */
const CUTS: u32 = 64;
const RAMP_PERIOD_us: u32 = 31250;
const CLIP_PERIOD_us: u32 = 3125;
const A_MINUS: u32 = 15 << 4;
const DRIVE: u32 = 15 << 24;
const SUMS: u32 = CAPTURE + 4;

let samples: u32 = 0;

/** Starts what the host asked for. */
export function beginSurvey(): void {
  const what = surveyWhat;
  const clip = surveyClip;
  const onClip = drivePort(clip, clip);
  memory.fill(CAPTURE, 0, SURVEY_bytes);
  setStep(Step.reference);
  setWork(clip, 0);
  if (what >= <u32>Survey.zero) {
    const at = what == <u32>Survey.bleed ? SENSE_RETURN | RET_BLEED : SENSE_REFERENCE | RET_REFERENCE;
    const drive = what == <u32>Survey.zero ? 0 : DRV_CURRENT;
    convertOperation(0, 0, onClip | at | drive, drive == 0 ? 0 : LEAST_nA, LEAST_settle_us, Rate.precise);
    return;
  }
  const isRamp = what >= <u32>Survey.rampDown;
  samples = isRamp ? BURST_SAMPLES : SURVEY_CLIP_SAMPLES;
  let base = onClip | SENSE_RETURN;
  if (isRamp) base |= RET_MEGOHM | (what == <u32>Survey.rampUp ? DRV_MINUS : DRV_PLUS);
  else base |= RET_BLEED | DRV_PLUS | ground1(clip > 1 ? clip - 1 : 0) | ground2(clip < CLIP_COUNT ? clip + 1 : 0);
  const cut = base & ~(what == <u32>Survey.common ? A_MINUS : DRIVE);
  cutsOperation(0, 0, base, cut, 0, samples, SURVEY_LEAD, isRamp ? RAMP_PERIOD_us : CLIP_PERIOD_us, CUTS);
}

/** A burst was captured. */
export function surveyCaptured(): void {
  for (let at: u32 = 0; at < samples * 4; at += 4) {
    const sample = load<i32>(BURST_B + at);
    const sum = load<i32>(SUMS + at);
    store<i32>(SUMS + at, sample == OVERRANGE || sum == OVERRANGE ? OVERRANGE : sum + sample);
  }
  store<u32>(CAPTURE, load<u32>(CAPTURE) + 1);
}

/** The look has ended. */
export function surveyDone(answer: Answer): void {
  if (surveyWhat >= <u32>Survey.zero) store<f32>(CAPTURE, answer.volt_V);
}
