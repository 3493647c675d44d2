/** Button, two lights, wand plug, rails: what a person sees and does. */
#pragma once
#include <stdbool.h>
#include <stdint.h>

enum { LIGHT_OFF, LIGHT_READY, LIGHT_BUSY, LIGHT_TOUCH, LIGHT_LIFT, LIGHT_MAGNET, LIGHT_GOOD, LIGHT_FAULT, LIGHT_UNSURE,
       LIGHT_TRAP, LIGHT_WAITING };
enum { BUTTON_PRESS = 1, BUTTON_LONG = 2 };

void panel_start(void);

/** Shows a pattern. @param pattern - Light, for touch and magnet the place index in bits 8 to 15; what stands above is not shown */
void panel_light(uint32_t pattern);

/** Red, steady, by two stores: for faults. */
void panel_fault_light(void);

/** Debounces the button, steps the lights; every 10 ms from the tick. */
void panel_tick(void);

bool panel_wand_present(void);
bool panel_rails_good(void);
