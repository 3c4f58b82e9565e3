import regexp from 'eslint-plugin-regexp';
import tseslint from 'typescript-eslint';

/** Pure, bit-for-bit reproducible folders: of `Math` only what agrees on every machine and Node. */
const exactFolders = ['units', 'plant', 'metrology', 'heat', 'cure', 'score'].map(
  (folder) => `shared-models/${folder}/**/*.ts`,
);
const exactMath = ['abs', 'min', 'max', 'floor', 'ceil', 'trunc', 'sign', 'sqrt'];

export default tseslint.config(
  { ignores: ['**/dist/**', 'data/**', 'shared-models/released/**'] },
  ...tseslint.configs.recommended,
  {
    files: ['**/*.ts', '**/*.tsx'],
    languageOptions: { parserOptions: { projectService: true } },
    rules: {
      '@typescript-eslint/no-floating-promises': 'error',
      '@typescript-eslint/switch-exhaustiveness-check': [
        'error',
        // A default is an answer too; without one every case must stand there.
        { considerDefaultExhaustiveForUnions: true },
      ],
      '@typescript-eslint/consistent-type-imports': 'error',
    },
  },
  {
    // A pattern that goes back over what it has seen lets a text of a few kilobytes stop a process.
    ignores: ['tests/**'],
    plugins: { regexp },
    rules: {
      'regexp/no-super-linear-backtracking': 'error',
      'regexp/no-super-linear-move': 'error',
    },
  },
  {
    files: exactFolders,
    rules: {
      'no-restricted-syntax': [
        'error',
        { selector: "BinaryExpression[operator='**']", message: 'Use pow of units/.' },
        { selector: "AssignmentExpression[operator='**=']", message: 'Use pow of units/.' },
        {
          selector: `MemberExpression[object.name='Math']:not(${exactMath
            .map((name) => `[property.name='${name}']`)
            .join(',')})`,
          message: `Of Math only ${exactMath.join(', ')}: the rest differs between machines.`,
        },
      ],
    },
  },
);
