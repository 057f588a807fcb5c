// Shows notices on phones and brings the page back when one is pressed. It answers no request and keeps no page.
self.addEventListener('install', () => self.skipWaiting());
self.addEventListener('activate', e => e.waitUntil(self.clients.claim()));
self.addEventListener('notificationclick', e => {
  e.notification.close();
  e.waitUntil(self.clients.matchAll({ type: 'window', includeUncontrolled: true }).then(pages => pages[0]?.focus() ?? self.clients.openWindow('/alarms')));
});
