/** Set-up cannot go on. Says what is wrong, what is safe, and what to do: nothing else helps a newcomer. */
export class SetupFailure extends Error {
  /**
   * @param {string} what what was found and what was expected
   * @param {string} safe what is untouched
   * @param {string} toDo the next thing to type or to decide
   */
  constructor(what, safe, toDo) {
    super(what);
    this.safe = safe;
    this.toDo = toDo;
  }

  /** Three lines for a terminal. */
  text() {
    return `Cannot go on: ${this.message}\n  Safe   ${this.safe}\n  To do  ${this.toDo}\n`;
  }
}
