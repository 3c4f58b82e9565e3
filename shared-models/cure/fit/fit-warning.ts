/** What is doubtful about a fit, with the numbers that say so. */
export interface FitWarning {
  code: string;
  text: string;
}
