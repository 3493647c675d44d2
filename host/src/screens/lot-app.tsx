/** The lot's form on a terminal: keys in, a set-up out. */
import { useApp, useInput, useStdin, useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useState } from 'react';
import type { Bench } from '../bench/bench.ts';
import { editForm, readForm, type LotForm } from '../bench/lot-setup.ts';
import type { Opened } from '../bench/open-bench.ts';
import { LotScreen } from './lot-screen.tsx';

/** The form itself. @param onBench - takes the bench of the finished set-up */
export function LotApp({ opened, start, onBench }: {
  readonly opened: Extract<Opened, { kind: 'tester' }>; readonly start: LotForm;
  readonly onBench: (bench: Bench) => void;
}): JSX.Element {
  const { columns } = useWindowSize();
  const { isRawModeSupported } = useStdin();
  const { exit } = useApp();
  const [form, setForm] = useState<LotForm>(start);
  const [wrong, setWrong] = useState<string | null>(null);
  useInput((input, key) => {
    if (key.ctrl && input === 'c') exit();
    else if (key.return) {
      const read = readForm(form);
      if ('wrong' in read) setWrong(read.wrong);
      else onBench(opened.bench(read, form.name.trim()));
    } else if (key.upArrow) setForm(editForm(form, { type: 'move', by: -1 }));
    else if (key.downArrow || key.tab) setForm(editForm(form, { type: 'move', by: 1 }));
    else if (key.leftArrow) setForm(editForm(form, { type: 'choose', by: -1 }));
    else if (key.rightArrow) setForm(editForm(form, { type: 'choose', by: 1 }));
    else if (key.backspace || key.delete) setForm(editForm(form, { type: 'erase' }));
    else if (input !== '' && !key.ctrl && !key.meta) setForm(editForm(form, { type: 'text', text: input }));
  }, { isActive: isRawModeSupported });
  return <LotScreen form={form} wrong={wrong} columns={columns} serial={opened.serial} />;
}
