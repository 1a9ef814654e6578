// Dark or light, as the reader chose on this device. The server writes the choice into the page, so that nothing flickers.
const button = document.getElementById('theme');
const root = document.documentElement;

const isDark = () => (root.dataset.theme ?? (matchMedia('(prefers-color-scheme: dark)').matches ? 'dark' : 'light')) === 'dark';
const label = () => { button.textContent = isDark() ? button.dataset.light : button.dataset.dark; };

if (button) {
  button.hidden = false;
  label();
  button.addEventListener('click', () => {
    root.dataset.theme = isDark() ? 'light' : 'dark';
    document.cookie = `washbridge-theme=${root.dataset.theme}; path=/; max-age=31536000; samesite=strict`;
    label();
    document.dispatchEvent(new Event('themechange'));
  });
}
