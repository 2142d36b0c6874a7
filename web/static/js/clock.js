/** Milliseconds as people write them: 7:05, 1:02:03. */
export function clock(ms) {
  const whole = Math.max(0, Math.floor(ms / 1000));
  const two = (number) => String(number).padStart(2, "0");
  const hours = Math.floor(whole / 3600);
  const minutes = Math.floor(whole / 60) % 60;
  return hours ? `${hours}:${two(minutes)}:${two(whole % 60)}` : `${minutes}:${two(whole % 60)}`;
}
