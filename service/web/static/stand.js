// At the stand: the screen stays awake, arrow keys and a swipe turn the page. Nothing here is needed to work.
"use strict";

const turn = (rel) => document.querySelector(`.turn a[rel=${rel}]`)?.click();
const typing = (target) => target.closest("input, textarea, select, details[open]") !== null;

document.addEventListener("keydown", (event) => {
  if (event.altKey || event.ctrlKey || event.metaKey || typing(event.target)) return;
  if (event.key === "ArrowLeft") turn("prev");
  if (event.key === "ArrowRight") turn("next");
});

let from = null;
document.addEventListener("touchstart", (event) => {
  const touch = event.touches[0];
  from = event.touches.length === 1 && !typing(event.target) ? { x: touch.clientX, y: touch.clientY } : null;
}, { passive: true });
document.addEventListener("touchend", (event) => {
  if (from === null) return;
  const across = event.changedTouches[0].clientX - from.x;
  const down = event.changedTouches[0].clientY - from.y;
  if (Math.abs(across) > 90 && Math.abs(down) < 40) turn(across > 0 ? "prev" : "next");
  from = null;
}, { passive: true });

const stayAwake = async () => {
  if (!("wakeLock" in navigator) || document.visibilityState !== "visible") return;
  try {
    await navigator.wakeLock.request("screen");
  } catch {
    // Battery saving, or not allowed: the screen goes dark as it is set to.
  }
};
document.addEventListener("visibilitychange", stayAwake);
stayAwake();
