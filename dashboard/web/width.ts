import { useRef, useState } from 'preact/hooks';

const leastPx = 240;

/**
 * An element's width as it is now [px], before it is first seen: drawings in pixels follow it. Null until
 * the element is there: nothing is drawn at a width that is guessed.
 */
export function useWidth(): [(element: HTMLElement | null) => void, number | null] {
  const [width, setWidth] = useState<number | null>(null);
  const observer = useRef<ResizeObserver | null>(null);
  const ref = useRef((element: HTMLElement | null) => {
    observer.current?.disconnect();
    if (element === null) return;
    const measure = (): void => setWidth(Math.max(leastPx, element.clientWidth));
    measure();
    observer.current = new ResizeObserver(measure);
    observer.current.observe(element);
  });
  return [ref.current, width];
}
