import { useRef, useState } from 'preact/hooks';

/** An element's width as it is now [px]: drawings in pixels follow it. */
export function useWidth(): [(element: HTMLElement | null) => void, number] {
  const [width, setWidth] = useState(800);
  const observer = useRef<ResizeObserver | null>(null);
  const ref = useRef((element: HTMLElement | null) => {
    observer.current?.disconnect();
    if (element === null) return;
    observer.current = new ResizeObserver(() => setWidth(Math.max(240, element.clientWidth)));
    observer.current.observe(element);
  });
  return [ref.current, width];
}
