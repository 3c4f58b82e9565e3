import '@fontsource-variable/atkinson-hyperlegible-next/wght.css';
import './style.css';
import { render } from 'preact';
import { App } from './app.tsx';
import './kiosk.ts';
import { watch } from './live.ts';
import { loadMe } from './people/me.ts';
import { watchPresence } from './people/presence.ts';
import './route.ts';
import { keepNamesWhole } from './unbroken.ts';

keepNamesWhole();
const root = document.getElementById('screen');
if (root !== null) render(<App />, root);
watch();
watchPresence();
void loadMe();
