/** Clock tree: 12 MHz crystal, 125 MHz system, 48 MHz for USB and ADC. */
#pragma once
#include <stdbool.h>

/** Starts crystal, PLLs and clocks. @returns false when the crystal or a PLL did not come up in time */
bool clocks_start(void);
