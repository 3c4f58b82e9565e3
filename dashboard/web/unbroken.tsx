/** Longer than any id: such a word has to break somewhere. */
const longestId = 40;

/** A load, a lot, a station as people write it: joined by hyphens, a number behind one. */
const isId = (word: string): boolean => word.length <= longestId && /-\d/.test(word);

/** A sentence in which no id breaks at its hyphen. */
export function Unbroken({ children }: { children: string }) {
  return (
    <>
      {children.split(/(\s)/).map((word, i) =>
        isId(word) ? (
          <span key={i} class="id">
            {word}
          </span>
        ) : (
          word
        ),
      )}
    </>
  );
}
