/**
 * What a host may ask of a full-speed HID device, valid and not, and what the device must answer.
 * @see USB 2.0, 9.3 and 9.4 (standard requests, tables 9-3 to 9-6); HID 1.11, 7.1 and 7.2
 */

/** What the descriptors of the device under test must say. */
export interface Identity {
  readonly vendorId: number;
  readonly productId: number;
  readonly release_bcd: number;
  readonly strings: readonly [manufacturer: string, product: string, serial: string];
  readonly reportDescriptor: Uint8Array;
}

/** One request: its 8 setup bytes in hex, and what comes back. */
export interface Request {
  readonly what: string;
  readonly setup: string;
  /** What an OUT transfer carries. */
  readonly data?: Uint8Array;
  /** Bytes in hex; `ok` for any successful answer; a pattern for bytes that are the device's choice. */
  readonly answer: string | RegExp | 'stall';
}

const hex = (bytes: Iterable<number>): string => Buffer.from([...bytes]).toString('hex');
const word = (value: number): string => hex([value & 0xff, value >> 8]);

function stringDescriptor(text: string): string {
  return hex([2 + 2 * text.length, 3]) + Buffer.from(text, 'utf16le').toString('hex');
}

/** GET_DESCRIPTOR of the device, wLength at the end. */
const get = (type: number, index: number, length_bytes: number, language = 0): string =>
  `8006${hex([index, type])}${word(language)}${word(length_bytes)}`;

/**
 * The table, in the order in which it has to be asked of a device that was just plugged in: it goes
 * from the address state to the configured state and back.
 */
export function requests(identity: Identity): Request[] {
  const device =
    '12010002000000' +
    '40' +
    word(identity.vendorId) +
    word(identity.productId) +
    word(identity.release_bcd) +
    '01020301';
  const report = hex(identity.reportDescriptor);
  const hidDescriptor = `092111010001${'22'}${word(identity.reportDescriptor.length)}`;
  const endpoints = '0705810340000107050103400001';
  // bmAttributes and bMaxPower are the device's choice, but bit 7 is set and bits 4 to 0 are not.
  const configuration = new RegExp(
    `^09022900010100(80|c0|a0|e0)..0904000002030000..${hidDescriptor}${endpoints}$`,
  );
  const endpointHalt = (endpoint: string, name: string): Request[] => [
    { what: `GET_STATUS ${name}, running`, setup: `82000000${endpoint}000200`, answer: '0000' },
    { what: `SET_FEATURE halt, ${name}`, setup: `02030000${endpoint}000000`, answer: '' },
    { what: `GET_STATUS ${name}, halted`, setup: `82000000${endpoint}000200`, answer: '0100' },
    { what: `CLEAR_FEATURE halt, ${name}`, setup: `02010000${endpoint}000000`, answer: '' },
    { what: `GET_STATUS ${name}, running again`, setup: `82000000${endpoint}000200`, answer: '0000' },
  ];
  const stalled = (what: string, setup: string): Request => ({ what, setup, answer: 'stall' });

  const address: Request[] = [
    { what: 'device descriptor, 18 bytes', setup: get(1, 0, 18), answer: device },
    { what: 'device descriptor, more asked than there is', setup: get(1, 0, 64), answer: device },
    { what: 'device descriptor, its first 8 bytes', setup: get(1, 0, 8), answer: device.slice(0, 16) },
    { what: 'device descriptor, no bytes asked', setup: get(1, 0, 0), answer: '' },
    stalled('device descriptor with an index', get(1, 1, 18)),
    { what: 'configuration, its first 9 bytes', setup: get(2, 0, 9), answer: /^0902290001/ },
    { what: 'configuration, whole', setup: get(2, 0, 41), answer: configuration },
    { what: 'configuration, more asked than there is', setup: get(2, 0, 255), answer: configuration },
    stalled('second configuration', get(2, 1, 9)),
    { what: 'string 0: the languages', setup: get(3, 0, 255), answer: '04030904' },
    ...identity.strings.map((text, i) => ({
      what: `string ${i + 1}`,
      setup: get(3, i + 1, 255, 0x0409),
      answer: stringDescriptor(text),
    })),
    {
      what: 'string 2, its first 2 bytes',
      setup: get(3, 2, 2, 0x0409),
      answer: stringDescriptor(identity.strings[1]).slice(0, 4),
    },
    stalled('string 4', get(3, 4, 255, 0x0409)),
    stalled('string 255', get(3, 255, 255, 0x0409)),
    stalled('interface descriptor by itself', get(4, 0, 9)),
    stalled('endpoint descriptor by itself', get(5, 0, 7)),
    stalled('device qualifier: full speed only', get(6, 0, 10)),
    stalled('other speed configuration: full speed only', get(7, 0, 9)),
    stalled('binary object store: USB 2.00 has none', get(15, 0, 5)),
    stalled('descriptor type 0', get(0, 0, 8)),
    stalled('descriptor type 255', get(255, 0, 8)),
    { what: 'GET_CONFIGURATION, none yet', setup: '8008000000000100', answer: '00' },
    { what: 'GET_STATUS device: bus powered', setup: '8000000000000200', answer: '0000' },
    { what: 'GET_STATUS endpoint 0, OUT', setup: '8200000000000200', answer: '0000' },
    { what: 'GET_STATUS endpoint 0, IN', setup: '8200000080000200', answer: '0000' },
    stalled('GET_STATUS interface, not configured', '8100000000000200'),
    stalled('GET_STATUS endpoint 1, not configured', '8200000081000200'),
    stalled('GET_INTERFACE, not configured', '810a000000000100'),
    stalled('SET_INTERFACE, not configured', '010b000000000000'),
    stalled('SET_CONFIGURATION 2', '0009020000000000'),
    stalled('SET_CONFIGURATION 255', '0009ff0000000000'),
    { what: 'GET_CONFIGURATION, still none', setup: '8008000000000100', answer: '00' },
    stalled('SET_FEATURE remote wake-up: not offered', '0003010000000000'),
    stalled('CLEAR_FEATURE remote wake-up: not offered', '0001010000000000'),
    stalled('SET_FEATURE test mode: high speed only', '0003020000010000'),
    stalled('SET_DESCRIPTOR', '0007000100000000'),
    stalled('request 2, reserved', '0002000000000000'),
    stalled('request 4, reserved', '0004000000000000'),
    stalled('request 255', '80ff000000000200'),
    // With wLength 0 the direction bit would mean nothing (USB 2.0, 9.3.1).
    { what: 'GET_DESCRIPTOR in the OUT direction', setup: '0006000100001200', data: new Uint8Array(18), answer: 'stall' },
    stalled('SET_CONFIGURATION in the IN direction', '8009010000000100'),
    stalled('GET_CONFIGURATION of an interface', '8108000000000100'),
    stalled('a vendor request, IN', 'c001000000000800'),
    stalled('a vendor request, OUT', '4001000000000000'),
    stalled('a class request to the device', 'a001000000000800'),
    stalled('a reserved type', 'e000000000000200'),
  ];

  const configured: Request[] = [
    { what: 'SET_CONFIGURATION 1', setup: '0009010000000000', answer: '' },
    { what: 'GET_CONFIGURATION, 1', setup: '8008000000000100', answer: '01' },
    { what: 'GET_INTERFACE 0', setup: '810a000000000100', answer: '00' },
    stalled('GET_INTERFACE 1', '810a000001000100'),
    { what: 'SET_INTERFACE 0, setting 0', setup: '010b000000000000', answer: '' },
    stalled('SET_INTERFACE 0, setting 1', '010b010000000000'),
    stalled('SET_INTERFACE 1', '010b000001000000'),
    { what: 'GET_STATUS interface 0', setup: '8100000000000200', answer: '0000' },
    stalled('GET_STATUS interface 1', '8100000001000200'),
    ...endpointHalt('81', 'endpoint 1 IN'),
    ...endpointHalt('01', 'endpoint 1 OUT'),
    stalled('GET_STATUS endpoint 2 IN: not there', '8200000082000200'),
    stalled('GET_STATUS endpoint 2 OUT: not there', '8200000002000200'),
    stalled('SET_FEATURE halt, endpoint 3', '0203000083000000'),
    stalled('CLEAR_FEATURE halt, endpoint 3', '0201000083000000'),
    stalled('SET_FEATURE of an endpoint, selector 5', '0203050081000000'),
    stalled('SET_FEATURE of an interface', '0103000000000000'),
    stalled('SYNCH_FRAME: not isochronous', '820c000081000200'),
    { what: 'HID descriptor', setup: '8106002100000900', answer: hidDescriptor },
    { what: 'report descriptor', setup: `810600220000${word(identity.reportDescriptor.length)}`, answer: report },
    { what: 'report descriptor, more asked', setup: '810600220000ff00', answer: report },
    { what: 'report descriptor, its first 4 bytes', setup: '8106002200000400', answer: report.slice(0, 8) },
    stalled('report descriptor of interface 1', '810600220100ff00'),
    stalled('physical descriptor: none', '810600230000ff00'),
    { what: 'SET_IDLE, only when something changes', setup: '210a000000000000', answer: '' },
    { what: 'GET_IDLE', setup: 'a102000000000100', answer: '00' },
    stalled('SET_IDLE of interface 1', '210a000001000000'),
    { what: 'GET_REPORT input', setup: 'a101000100004000', answer: /^(..){64}$/ },
    stalled('GET_REPORT feature: none', 'a101000300004000'),
    stalled('GET_REPORT input of report ID 1: no IDs', 'a101010100004000'),
    stalled('GET_REPORT of interface 1', 'a101000101004000'),
    stalled('SET_REPORT feature: none', '2109000300000000'),
    stalled('GET_PROTOCOL: no boot device', 'a103000000000100'),
    stalled('SET_PROTOCOL: no boot device', '210b000000000000'),
    stalled('class request 255', 'a1ff000000000100'),
  ];

  const back: Request[] = [
    { what: 'SET_FEATURE halt before a new configuration', setup: '0203000081000000', answer: '' },
    { what: 'SET_CONFIGURATION 1 once more', setup: '0009010000000000', answer: '' },
    { what: 'GET_STATUS: that ended the halt', setup: '8200000081000200', answer: '0000' },
    { what: 'SET_CONFIGURATION 0', setup: '0009000000000000', answer: '' },
    { what: 'GET_CONFIGURATION, none again', setup: '8008000000000100', answer: '00' },
    stalled('GET_INTERFACE, no longer configured', '810a000000000100'),
    { what: 'device descriptor after all this', setup: get(1, 0, 18), answer: device },
  ];
  return [...address, ...configured, ...back];
}
