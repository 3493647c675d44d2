/** What is not in stock, told by a command. */
import { NotInStock } from '../shop/tested-pickups.ts';
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';

/** @param command - for messages @throws UserError */
export async function ofStock<T>(command: string, act: () => Promise<T>): Promise<T> {
  try {
    return await act();
  } catch (error) {
    if (!(error instanceof NotInStock)) throw error;
    throw new UserError(`${command}: ${error.message}`, error.kind === 'missing' ? EXIT.noInput : EXIT.badContent);
  }
}
