// Notices of the system for ACT NOW and for NO DATA while charging, where a person has allowed them by a press. Phones show them through a
// worker only; the worker keeps no page, so that nothing old can look as if it were present.
let listener = null, last = '';

const able = () => 'Notification' in window && isSecureContext;

export function state() {
  if (!able()) return 'absent';
  if (Notification.permission === 'denied') return 'refused';
  return Notification.permission === 'granted' && localStorage.getItem('notices') === 'on' ? 'on' : 'off';
}

const tell = () => listener?.invokeMethodAsync('NoticesAsync', state()).catch(() => {});
const worker = async () => { try { return await navigator.serviceWorker?.register('/notice-worker.js'); } catch { return null; } };

export const notices = {
  state,
  listen(reference) { listener = reference; },
  async show(key, title, body) {
    if (state() !== 'on' || key === last) return;
    last = key;
    const options = { body, tag: 'cellwatch-urgent', renotify: true, requireInteraction: true };
    const registered = await navigator.serviceWorker?.getRegistration('/');
    if (registered?.active) await registered.showNotification(title, options);
    else try { new Notification(title, options); } catch { /* A phone before its worker is up: the sound and the page still say it. */ }
  },
  again() { last = ''; },
};

document.addEventListener('click', async e => {
  if (!e.target.closest('[data-notices]') || !able()) return;
  if (state() === 'on') localStorage.setItem('notices', 'off');
  else if (await Notification.requestPermission() === 'granted') {
    localStorage.setItem('notices', 'on');
    await worker();
  }
  tell();
});

if (state() === 'on') worker();
