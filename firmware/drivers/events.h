/** The one queue between interrupts and the main loop. */
#pragma once
#include <stdbool.h>
#include <stdint.h>

enum event_kind {
  EVENT_BUTTON,        /* value: Button */
  EVENT_CONVERTER,     /* value: conversion number, outcome in the upper half (converter.h) */
  EVENT_BURST,         /* value: Status */
  EVENT_SAMPLES,       /* value: Status */
  EVENT_TIME,          /* value: number of the wake-up that was asked for */
  EVENT_REPORT,        /* value: bytes in the USB buffer */
  EVENT_REPORT_SENT,
  EVENT_LINK,          /* value: Link */
  EVENT_KINDS,
};

struct event { uint32_t kind, value, queued_us; };

/** Queues an event; callable from every interrupt. Each kind has its own room: of one too many the oldest goes. */
void events_push(enum event_kind kind, uint32_t value);

/** Takes the oldest event. @returns false when there is none */
bool events_take(struct event *event);

/** Drops all queued events of a kind. */
void events_forget(enum event_kind kind);

/** Events lost since the start, but for those whose last one is all that counts; 0 unless a bound in this program is wrong. */
extern uint32_t events_dropped;
