import { Fragment, h, options, type ComponentChild, type VNode } from 'preact';

/** Longer than any name that people say: such a word has to break somewhere. */
const longestName = 32;
/** A lot, a load, a station, a point: joined by hyphens, with a digit in it or a single letter at its end. */
const name = /^(?=.*\d|.*-\p{L}\P{L}*$)[^-]+(?:-[^-]+)+$/u;
/** Elements that hold text alone. */
const ofText = new Set(['option', 'title', 'textarea', 'text', 'tspan']);

const isName = (word: string): boolean =>
  word.length <= longestName && word.includes('-') && name.test(word);

const isWhole = (className: unknown): boolean =>
  typeof className === 'string' && className.split(' ').includes('id');

function unbroken(child: unknown): unknown {
  if (typeof child !== 'string' || !child.includes('-')) return child;
  const words = child.split(/(\s)/);
  if (!words.some(isName)) return child;
  const parts: ComponentChild[] = words.map((word) =>
    isName(word) ? h('span', { class: 'id' }, word) : word,
  );
  // One element as it was one text: where what is beside it is laid out, it stays one piece.
  return parts.length === 1 ? parts[0] : h('span', null, parts);
}

/**
 * No name breaks at its hyphen, in whichever sentence it stands: words of text that look like one are set
 * in an element that does not break. A hyphen that never breaks would be another letter, and a name that is
 * copied or searched for would not be found.
 */
export function keepNamesWhole(): void {
  const before = options.vnode;
  options.vnode = (vnode: VNode) => {
    const { type } = vnode;
    const props = vnode.props as { class?: unknown; children?: unknown };
    const holdsWords = typeof type === 'string' ? !ofText.has(type) : type === Fragment;
    if (holdsWords && !isWhole(props.class)) {
      const { children } = props;
      props.children = Array.isArray(children) ? children.map(unbroken) : unbroken(children);
    }
    before?.(vnode);
  };
}
