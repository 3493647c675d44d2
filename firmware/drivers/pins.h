/**
 * Pins of the RP2040 and inputs of the converter: one row each, name first, in the order of the package.
 * Compared with the board's netlist by test; change it there too.
 */
#pragma once
#include <stdbool.h>

/*        name                 GPIO     direction, what it does */
#define PIN_UART_TX              0u  /* out, kept free for debug text */
#define PIN_WAND_PRESENT         1u  /* in, pull-up: low when the magnet probe is plugged in */
#define PIN_BUTTON               2u  /* in, pull-up: low while pressed */
#define PIN_LIGHT_GREEN          3u  /* out, high = on */
#define PIN_RAILS_GOOD           4u  /* in, pulled up on the board: the charge pump's open-drain PGOOD, see RAILS_GOOD_LEVEL */
#define PIN_RAILS_ENABLE         5u  /* out, high = analog rails on */
#define PIN_LIGHT_RED            7u  /* out, high = on */
#define PIN_SWITCH_OE            8u  /* out, low = switch registers drive, pulled up on the board: all off */
#define PIN_SWITCH_LATCH         9u  /* out, rising edge takes the shifted word */
#define PIN_SWITCH_SCK          10u  /* SPI1 SCK */
#define PIN_SWITCH_MOSI         11u  /* SPI1 TX */
#define PIN_SWITCH_READBACK     12u  /* SPI1 RX: the last register's Q7S */
#define PIN_CONVERTER_MISO      16u  /* SPI0 RX */
#define PIN_CONVERTER_CS        17u  /* out, low = selected */
#define PIN_CONVERTER_SCK       18u  /* SPI0 SCK */
#define PIN_CONVERTER_MOSI      19u  /* SPI0 TX */
#define PIN_CONVERTER_DRDY      20u  /* in: low = a result waits */
#define PIN_CONVERTER_START     21u  /* out, rising edge starts a conversion */
#define PIN_CONVERTER_RESET     22u  /* out, low = reset, pulled down on the board: current source off */
#define PIN_LISTEN_A_X1         26u  /* ADC 0 */
#define PIN_LISTEN_B_X1         27u  /* ADC 1 */
#define PIN_LISTEN_A_X8         28u  /* ADC 2 */
#define PIN_LISTEN_B_X8         29u  /* ADC 3 */

/**
 * Level of PIN_RAILS_GOOD while both analog rails are good. The pump (LM27762, data sheet SNVSAF7, pin functions) pulls PGOOD
 * low then and lets go of it otherwise: without the pump, its supply or the track the pull-up says "not good".
 */
#define RAILS_GOOD_LEVEL false

/*        name                  AIN     what it is */
#define AIN_CURRENT_OUT          0u  /* current source to the DRV switch */
#define AIN_PORT_PLUS            1u  /* B+ common, buffered */
#define AIN_PORT_MINUS           2u  /* B- common, buffered */
#define AIN_WAND                 3u  /* Hall sensor of the wand */
#define AIN_THERMISTOR           4u  /* board temperature */
#define AIN_RAIL_POSITIVE        5u  /* positive rail, 2.55 V, halved */
#define AIN_RAIL_NEGATIVE        6u  /* negative rail halved */
#define AIN_WAND_HALF            7u  /* half of the wand's supply: what the Hall sensor gives at rest */
#define AIN_COMMON              12u  /* AINCOM: 0 V */
