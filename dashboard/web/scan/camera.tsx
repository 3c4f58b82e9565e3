import { useEffect, useRef, useState } from 'preact/hooks';
import { say } from '../language.ts';
import { scannedByCamera } from './scanner.ts';

/** Codes that are printed on lots and cards. */
const wanted = ['code_128', 'code_39', 'data_matrix', 'qr_code'];
const lookEveryMs = 150;

/** A browser's own reader of codes, where it has one: its types stand in no library yet. */
interface Detector {
  detect(picture: HTMLVideoElement): Promise<{ rawValue: string }[]>;
}
interface DetectorMaker {
  new (options: { formats: string[] }): Detector;
  getSupportedFormats(): Promise<string[]>;
}

const maker = (): DetectorMaker | null =>
  (globalThis as { BarcodeDetector?: DetectorMaker }).BarcodeDetector ?? null;

/** Browsers give the camera to pages of this machine and of TLS alone. */
const hasCamera = (): boolean => (navigator as Partial<Navigator>).mediaDevices !== undefined;

/** Looks through the camera until a code is seen, or `signal` ends it. @throws where there is no camera */
async function codeSeen(
  video: HTMLVideoElement,
  make: DetectorMaker,
  signal: AbortSignal,
): Promise<string | null> {
  const can = await make.getSupportedFormats();
  const detector = new make({ formats: wanted.filter((format) => can.includes(format)) });
  const stream = await navigator.mediaDevices.getUserMedia({
    video: { facingMode: 'environment' },
  });
  try {
    video.srcObject = stream;
    await video.play();
    while (!signal.aborted) {
      const [code] = await detector.detect(video);
      if (code !== undefined && code.rawValue.trim() !== '') return code.rawValue.trim();
      await new Promise((done) => setTimeout(done, lookEveryMs));
    }
    return null;
  } finally {
    for (const track of stream.getTracks()) track.stop();
  }
}

/** Why the camera gave nothing, in words that say what to do. */
function reasonOf(error: unknown): string {
  const name = error instanceof Error ? error.name : '';
  if (name === 'NotAllowedError') return say('camera.refused');
  return say(name === 'NotFoundError' ? 'camera.none' : 'camera.failed');
}

interface FinderParts {
  make: DetectorMaker;
  close: (why: string | null) => void;
}

function Finder({ make, close }: FinderParts) {
  const dialog = useRef<HTMLDialogElement>(null);
  const video = useRef<HTMLVideoElement>(null);
  useEffect(() => {
    const looking = new AbortController();
    dialog.current?.showModal();
    if (video.current === null) return;
    codeSeen(video.current, make, looking.signal).then(
      (code) => {
        if (code === null) return;
        close(null);
        scannedByCamera(code);
      },
      (error: unknown) => {
        if (!looking.signal.aborted) close(reasonOf(error));
      },
    );
    return () => looking.abort();
  }, []);
  return (
    <dialog ref={dialog} class="finder" aria-labelledby="finder-title" onClose={() => close(null)}>
      <h2 id="finder-title">{say('camera.look')}</h2>
      <video ref={video} muted playsInline />
      <button type="button" onClick={() => close(null)}>
        {say('act.cancel')}
      </button>
    </dialog>
  );
}

/** A scan by the device's own camera; what it reads goes where a hand scanner's reading goes. */
export function CameraScan() {
  const [isOpen, setOpen] = useState(false);
  const [why, setWhy] = useState<string | null>(null);
  const make = maker();
  if (make === null || !hasCamera()) {
    return <p class="soft">{say(hasCamera() ? 'camera.noReader' : 'camera.noTls')}</p>;
  }
  return (
    <>
      <button
        type="button"
        class="scan-camera"
        onClick={() => {
          setWhy(null);
          setOpen(true);
        }}
      >
        {say('camera.scan')}
      </button>
      <div role="status">{why !== null && <p class="refused">{why}</p>}</div>
      {isOpen && (
        <Finder
          make={make}
          close={(reason) => {
            setWhy(reason);
            setOpen(false);
          }}
        />
      )}
    </>
  );
}
