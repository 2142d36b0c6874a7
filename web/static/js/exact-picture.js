// Sends a video to a moment and says when the picture of that moment, and no other, has been painted.

const CLOSE_ENOUGH_S = 0.004;
const ONE_WAIT_MS = 350;
const WAITS = 6;
const NUDGE_S = 0.0005;

/** Whether a painted frame is the wanted one: its own time where that is known, else the frame that holds the moment. */
export function isWanted(mediaTime, moment, rate) {
  if (moment.frame !== null) return Math.abs(mediaTime - moment.frame) < CLOSE_ENOUGH_S;
  return mediaTime <= moment.seek + CLOSE_ENOUGH_S && moment.seek - mediaTime < 1 / rate;
}

function metadataOf(video) {
  if (video.readyState >= HTMLMediaElement.HAVE_METADATA) return Promise.resolve();
  return new Promise((resolve, reject) => {
    video.addEventListener("loadedmetadata", resolve, { once: true });
    video.addEventListener("error", reject, { once: true });
  });
}

/**
 * Seek to `moment` ({ seek, frame } in seconds). Resolves to the painted frame's media time, or to null where the
 * browser cannot tell or painted another one until the end of the wait; rejects when `signal` is aborted.
 */
export async function exactPicture(video, moment, rate, signal) {
  await metadataOf(video);
  signal.throwIfAborted();
  return new Promise((resolve, reject) => {
    let settled = false;
    let waiting = 0;
    let waits = 0;
    const settle = (finish, value) => {
      if (settled) return;
      settled = true;
      clearTimeout(waiting);
      video.removeEventListener("seeked", sought);
      finish(value);
    };
    const look = (_now, frame) => {
      if (isWanted(frame.mediaTime, moment, rate)) settle(resolve, frame.mediaTime);
      else if (!settled) video.requestVideoFrameCallback(look);
    };
    // A browser that is busy may paint a frame without telling; asked again for a hair's breadth later, it tells.
    const wait = () => {
      clearTimeout(waiting);
      waiting = setTimeout(() => {
        waits += 1;
        if (waits === WAITS) settle(resolve, null);
        else video.currentTime = moment.seek + NUDGE_S * (waits % 2);
      }, ONE_WAIT_MS);
    };
    const sought = () => {
      if (video.requestVideoFrameCallback) wait();
      else settle(resolve, null);
    };
    signal.addEventListener("abort", () => settle(reject, signal.reason), { once: true });
    video.addEventListener("seeked", sought);
    video.requestVideoFrameCallback?.(look);
    video.currentTime = moment.seek;
  });
}
