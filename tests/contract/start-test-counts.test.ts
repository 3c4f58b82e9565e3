import { describe, expect, it } from 'vitest';
import { countsOf } from '../../deploy/setup/test.mjs';

const passed = { status: 'passed', assertionResults: [{}, {}] };

describe('the last line of npm test', () => {
  it('counts what passed', () => {
    const report = { numPassedTests: 2, numTotalTests: 2, testResults: [passed] };
    expect(countsOf(report, 0)).toEqual({ passed: 2, failed: 0 });
  });

  it('counts a test that failed, and one that was skipped, as failed', () => {
    const report = { numPassedTests: 2, numTotalTests: 4, testResults: [passed] };
    expect(countsOf(report, 1)).toEqual({ passed: 2, failed: 2 });
  });

  it('counts a file that could not be loaded', () => {
    const broken = { status: 'failed', assertionResults: [] };
    const report = { numPassedTests: 2, numTotalTests: 2, testResults: [passed, broken] };
    expect(countsOf(report, 1)).toEqual({ passed: 2, failed: 1 });
  });

  it('counts an error outside of every test', () => {
    const report = { numPassedTests: 2, numTotalTests: 2, testResults: [passed] };
    expect(countsOf(report, 1)).toEqual({ passed: 2, failed: 1 });
  });
});
