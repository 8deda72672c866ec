// Prints each test on a line, what went wrong below it, and a closing line with the counts.
// A test that was skipped or put off counts as failed: what is here must run.
const words = (error) => String(error?.cause?.stack ?? error?.cause ?? error?.message ?? error);

export default async function* report(events) {
  const counts = { passed: 0, failed: 0 };
  for await (const { type, data } of events) {
    if (type === 'test:stdout' || type === 'test:stderr') yield data.message;
    if (type !== 'test:pass' && type !== 'test:fail') continue;
    // A file or a suite is only as good as what is in it, and that is counted.
    const is_group = data.details?.type === 'suite' || data.name.endsWith('.mjs');
    const left_out = data.skip !== undefined || data.todo !== undefined;
    const passed = type === 'test:pass' && !left_out;
    if (is_group && passed) continue;
    counts[passed ? 'passed' : 'failed'] += 1;
    const seconds = ((data.details?.duration_ms ?? 0) / 1000).toFixed(1);
    yield `${passed ? '   ok    ' : '   FAILED'} ${data.name} (${seconds} s)\n`;
    if (left_out) yield '      left out\n';
    else if (!passed) yield `${words(data.details?.error).replaceAll(/^/gm, '      ')}\n`;
  }
  const word = counts.failed === 0 ? 'ok' : 'FAILED';
  yield `test result: ${word}. ${counts.passed} passed; ${counts.failed} failed; in the browser\n`;
}
