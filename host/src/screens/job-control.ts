/** Ctrl-Z, an external stop and `fg`: the terminal is given back whole, and taken again. */
import { useApp, useInput, useStdin } from 'ink';
import { useEffect } from 'react';
import { followJobControl, stopJob } from '../edge/environment.ts';

/** For the one component that is there as long as the program. */
export function useJobControl(): void {
  const { suspendTerminal } = useApp();
  const { isRawModeSupported } = useStdin();
  useEffect(() => {
    let away = false;
    const leave = (meanwhile: () => void): void => {
      if (away) return;
      away = true;
      void suspendTerminal(meanwhile).catch(() => undefined).finally(() => (away = false));
    };
    return followJobControl({ onStop: leave, onContinue: () => leave(() => undefined) });
  }, [suspendTerminal]);
  useInput((input, key) => {
    if (key.ctrl && input === 'z') stopJob();
  }, { isActive: isRawModeSupported });
}
