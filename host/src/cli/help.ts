/** The help of the program as a whole. */
import { EXIT_HELP } from './exit-codes.ts';

export const HELP = `Usage: tapstone [COMMAND]

  tapstone                                     the screens, from the bench on
  tapstone rehearse demo.pickup.json           a made-up pickup, virtual bench
  tapstone enter                               by ohmmeter, steel and compass
  tapstone solve bench.json                    solve a bench record again
  tapstone solve *.bench.json --json           many, a line of JSON each
  tapstone positions duo.harness.json          what a guitar's settings do
  tapstone plan duo.harness.json               what to exchange, and why
  tapstone proof duo.harness.json              a guitar read at its jack, now
  tapstone proof duo.harness.json a.bench.json what is wrong, as read before
  tapstone harness duo.harness.json            a screen to try changes of it
  tapstone draw duo.harness.json --out duo.svg a picture to solder from
  tapstone records                             the tests that were kept
  tapstone stock                               the pickups in stock, searched
  tapstone lot "box 3"                         one lot: counts, outliers
  tapstone label 0012 --out label.pdf          a label with a QR code
  tapstone listing 0012                        the text of an offer
  tapstone sheet 0012 --out sheet.pdf          all of one pickup on A4
  tapstone check                               are computer and tester well?
  tapstone calibrate                           find a tester's own errors
  tapstone flash                               write the firmware to a board

Finds out which wires of a magnetic pickup are which, and how to wire it.
"tapstone COMMAND --help" tells the rest. NO_COLOR is respected.

  --tester SERIAL    which of several testers the bench uses
  --twin board|chip  what the virtual bench runs: the module alone, or the
                     firmware in an emulated chip
  --seed N           decides its noise, hum and hand; drawn when left out
  -h, --help         print this
  --version          print the version

${EXIT_HELP}
`;
