/** The stock in a file. */
import { SqliteStock } from '../../host/src/records/sqlite-stock.ts';
import { describeStock } from './behaviour.ts';

describeStock('in a file', async () => new SqliteStock(':memory:'));
