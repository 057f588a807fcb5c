// Runs before anything is drawn, so that the right theme and the wall layout are there from the first paint.
(() => {
  const root = document.documentElement;
  const query = new URLSearchParams(location.search);
  const named = query.get('theme');
  if (named === 'light' || named === 'dark') localStorage.setItem('theme', named);
  const dark = matchMedia('(prefers-color-scheme: dark)').matches;
  root.dataset.theme = localStorage.getItem('theme') || (dark ? 'dark' : 'light');
  root.classList.toggle('wall', query.has('wall'));
})();
