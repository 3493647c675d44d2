/** The form that is filled once per lot on an attached tester. */
import { Box, Text } from 'ink';
import type { JSX } from 'react';
import { COUNT_AT, KINDS, LEADS_AT, metalHint, type LotForm } from '../bench/lot-setup.ts';
import { wrap } from '../text/wrap.ts';
import { keyLines } from './parts.tsx';

function Field(
  { label, text, active }: { readonly label: string; readonly text: string; readonly active: boolean },
): JSX.Element {
  return (
    <Text wrap="truncate">
      {`${active ? '>' : ' '} ${label.padEnd(10)}`}
      <Text bold={active}>{text}</Text>
      {active ? '_' : ''}
    </Text>
  );
}

const KEYS = [
  { key: 'up/down', does: 'line' }, { key: 'left/right', does: 'kind' }, { key: 'enter', does: 'to the bench' }, { key: 'esc', does: 'back' }, { key: '?', does: 'help' },
];

export function NewLotScreen(
  { form, wrong, columns, serial }: {
    readonly form: LotForm; readonly wrong: string | null; readonly columns: number; readonly serial: string;
  },
): JSX.Element {
  const help = 'Type places with commas and lead colours as codes (BU, RDBU, BARE), nothing for a colour not noted, - for no lead. '
    + 'A lot of the same name and set-up goes on where it stands.';
  const hint = metalHint(form);
  return (
    <Box flexDirection="column" width={columns}>
      <Text bold wrap="truncate">{`Tapstone  tester ${serial}  a lot`}</Text>
      <Field label="lot" text={form.name} active={form.field === 0} />
      <Field label="pickup" text={`< ${KINDS[form.kind].words} >`} active={form.field === 1} />
      <Field label="places" text={form.places} active={form.field === 2} />
      {form.leads.map((text, index) => (
        <Field key={index} label={`clip ${index + 1}`} text={text} active={form.field === LEADS_AT + index} />
      ))}
      <Field label="how many" text={form.count} active={form.field === COUNT_AT} />
      {hint === null ? null : wrap(hint, columns, 0).map((line) => <Text key={line}>{line}</Text>)}
      {wrong === null ? null : wrap(wrong, columns, 0).map((line) => <Text key={line} color="yellow">{line}</Text>)}
      {wrap(help, columns, 0).map((line) => <Text key={line}>{line}</Text>)}
      {keyLines(KEYS, columns).map((line) => <Text key={line} dimColor wrap="truncate">{line}</Text>)}
    </Box>
  );
}
