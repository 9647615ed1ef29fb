// The theme someone chose on this device, set before the first paint. The only thing this program keeps in a browser's store.
try {
  const chosen = localStorage.getItem("theme");
  if (chosen === "light" || chosen === "dark") document.documentElement.dataset.theme = chosen;
} catch { /* a browser that keeps nothing follows the system's theme */ }
