/** The small player that floats at the foot of the page while a moment of the walk is heard. */

import { useEffect, useRef } from "preact/hooks";
import { clock } from "../geometry/clock";
import { hear, heard } from "../models/hear";
import { strings } from "../strings";

export function Player() {
  const video = useRef<HTMLVideoElement>(null);
  const now = heard.value;
  useEffect(() => {
    const element = video.current;
    if (!element || !now) return;
    const start = () => {
      element.currentTime = now.from;
      void element.play().catch(() => undefined); // a browser may want a tap first; its own button is there
    };
    const stop = () => {
      if (element.currentTime >= now.to) element.pause();
    };
    if (element.readyState >= 1) start();
    else element.addEventListener("loadedmetadata", start, { once: true });
    element.addEventListener("timeupdate", stop);
    return () => {
      element.removeEventListener("loadedmetadata", start);
      element.removeEventListener("timeupdate", stop);
    };
  }, [now]);
  if (!now) return null;
  const title = strings.player.title(clock(now.at));
  return (
    <section class="player" aria-label={title}>
      <header>
        <strong>{title}</strong>
        <button type="button" class="plain" onClick={() => hear.close()}>
          {strings.player.close}
        </button>
      </header>
      {/* biome-ignore lint/a11y/useMediaCaption: the words stand beside the button that opened it */}
      <video ref={video} src={now.address} controls playsInline preload="metadata" />
    </section>
  );
}
