// Runs another program in this one's place: whoever signals this process means that one. Old syntax only (see tapstone.js).
import { spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { constants } from 'node:os';

/** What a terminal, a shell or a service manager sends to end a program. */
const ENDING = ['SIGINT', 'SIGTERM', 'SIGHUP', 'SIGQUIT'];
/** Longest wait for the child to stop before this process stops too, and between two looks at it. */
const STOP_ms = 1000;
const LOOK_ms = 10;

/**
 * Starts a program with this one's terminal and passes signals on until it has ended.
 * `process.exitCode` is then the child's; a child that a signal ended takes this process along, by the same signal.
 * @param command - path of the program
 * @param args - its arguments
 * @param environment - its variables
 */
export function runInstead(command, args, environment) {
  return new Promise(function (resolve) {
    let child;
    const handlers = new Map();
    ENDING.concat('SIGCONT').forEach(function (signal) {
      handlers.set(signal, function () { child.kill(signal); });
    });
    handlers.set('SIGTSTP', function () {
      child.kill('SIGTSTP');
      // The shell takes the terminal back when this process stops: the child must have let go of it by then.
      afterStop(child.pid, STOP_ms, function () { process.kill(process.pid, 'SIGSTOP'); });
    });
    // Before the child is there: a signal that comes while it is being started waits for the next turn of the event loop.
    handlers.forEach(function (handler, signal) {
      if (constants.signals[signal] !== undefined) process.on(signal, handler);
    });
    child = spawn(command, args, { stdio: 'inherit', env: environment });
    function end() {
      handlers.forEach(function (handler, signal) { process.removeListener(signal, handler); });
      resolve();
    }
    child.on('error', function (error) {
      process.stderr.write('tapstone: ' + command + ' does not start (' + error.code + ')\n');
      process.exitCode = 69;
      end();
    });
    child.on('exit', function (code, signal) {
      process.exitCode = code === null ? 69 : code;
      end();
      if (signal !== null) process.kill(process.pid, signal);
    });
  });
}

/** Calls back when the process has stopped or is gone, or when the time is over. */
function afterStop(id, left_ms, done) {
  if (left_ms <= 0 || !isRunning(id)) done();
  else setTimeout(function () { afterStop(id, left_ms - LOOK_ms, done); }, LOOK_ms);
}

/** Whether a process runs, as proc(5) says: its state is the field after the name in brackets. Where there is no /proc, true. */
function isRunning(id) {
  try {
    const stat = readFileSync('/proc/' + id + '/stat', 'utf8');
    return 'TtZX'.indexOf(stat.slice(stat.lastIndexOf(')') + 2)[0]) < 0;
  } catch (_) {
    return true;
  }
}
