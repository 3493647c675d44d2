/** The help of the program as a whole. */
import { EXIT_HELP } from './exit-codes.ts';

export const HELP = `Usage: tapstone [COMMAND]

  tapstone                                     the screens: bench, lot, stock, harness, settings; the attached tester, or the virtual bench
  tapstone rehearse demo.pickup.json           test an invented pickup on the virtual bench
  tapstone enter                               enter a pickup by ohmmeter, steel and compass, one reading at a time
  tapstone solve bench.json                    solve a bench record again
  tapstone solve *.bench.json --json           the same for many, one line of JSON each
  tapstone positions two.harness.json          what every setting of a guitar's wiring does
  tapstone plan two.harness.json               what to exchange so that it is in phase and quiet
  tapstone proof two.harness.json jack.bench.json   what was read at the jack against the plan, and what is wrong
  tapstone harness two.harness.json            a screen to try changes of it, with response curves
  tapstone draw two.harness.json --out two.svg   a picture to solder from, of a harness or of one pickup
  tapstone records                             the tests that the bench screen kept
  tapstone stock                               the pickups in stock, searched, paired, noted
  tapstone lot "box 3"                         one lot: counts, outliers, pictures of its values
  tapstone label 0012 --out label.pdf          a label with a QR code, or those of a whole lot
  tapstone listing 0012                        the text of an offer: what was measured, and what was not
  tapstone sheet 0012 --out sheet.pdf          everything of one pickup on A4
  tapstone check                               is this computer ready for a tester, and is the tester well?
  tapstone calibrate                           give a tester its calibration, step by step
  tapstone flash                               write the firmware to a board

Finds out which wires of a magnetic pickup are which, and how to wire it.
"tapstone COMMAND --help" tells the rest. NO_COLOR is respected.

  --tester SERIAL    which of several testers the bench screen uses
  --twin board|chip  the virtual bench runs the module, or the firmware in an emulated chip
  --seed N           decides noise, hum and hand of the virtual bench; drawn when left out
  -h, --help         print this
  --version          print the version

${EXIT_HELP}
`;
