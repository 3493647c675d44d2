/** A wish from outside that the program end, while a screen is shown. */
import { useEffect } from 'react';

/** Calls `end`, as the last drawing gave it, once the wish comes. */
export function useAskedToEnd(asked: AbortSignal, end: () => void): void {
  useEffect(() => {
    asked.addEventListener('abort', end);
    return () => asked.removeEventListener('abort', end);
  });
}
