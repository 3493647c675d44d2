/** The form of a new lot on a terminal: keys in, a set-up out. */
import { useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useState } from 'react';
import type { Bench } from '../bench/bench.ts';
import { countOf, editForm, readForm, type LotForm } from '../bench/lot-setup.ts';
import type { Opened } from '../bench/open-bench.ts';
import { useKeys } from './keys.ts';
import { NewLotScreen } from './new-lot-screen.tsx';

/** The form itself. @param onBench - takes the bench of the finished set-up @param onBack - leaves it as it is */
export function NewLotApp({ opened, start, onBench, onBack, onHelp }: {
  readonly opened: Extract<Opened, { kind: 'tester' }>; readonly start: LotForm;
  readonly onBench: (bench: Bench) => void; readonly onBack: () => void; readonly onHelp: () => void;
}): JSX.Element {
  const { columns } = useWindowSize();
  const [form, setForm] = useState<LotForm>(start);
  const [wrong, setWrong] = useState<string | null>(null);
  useKeys((press) => {
    if ('letter' in press) {
      if (press.letter === '?') onHelp();
      else setForm((now) => editForm(now, { type: 'text', text: press.letter }));
      return;
    }
    switch (press.name) {
      case 'enter': {
        const read = readForm(form);
        if ('wrong' in read) setWrong(read.wrong);
        else onBench(opened.bench(read, form.name.trim(), countOf(form)));
        return;
      }
      case 'esc': return onBack();
      case 'up': case 'backtab': return setForm((now) => editForm(now, { type: 'move', by: -1 }));
      case 'down': case 'tab': return setForm((now) => editForm(now, { type: 'move', by: 1 }));
      case 'left': return setForm((now) => editForm(now, { type: 'choose', by: -1 }));
      case 'right': return setForm((now) => editForm(now, { type: 'choose', by: 1 }));
      case 'erase': return setForm((now) => editForm(now, { type: 'erase' }));
    }
  });
  return <NewLotScreen form={form} wrong={wrong} columns={columns} serial={opened.serial} />;
}
