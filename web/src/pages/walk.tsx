/** The walk: its picture on top (beside, on a wide screen), and below it the walk piece by piece; the open one holds its words. */

import { useEffect, useLayoutEffect, useMemo } from "preact/hooks";
import type { CourseView } from "../api";
import { Trouble } from "../components/bits";
import { Desk } from "../listening/desk";
import { keysOf } from "../listening/hands";
import { Met, Told } from "../listening/notices";
import { Picture } from "../listening/picture";
import { OpenPiece, ShutPiece } from "../listening/pieces";
import { News } from "../listening/proposals";
import type { CourseModel } from "../models/course";
import { strings } from "../strings";

const s = strings.listening;

export function WalkPage({ model, view }: { model: CourseModel; view: CourseView }) {
  const desk = useMemo(() => new Desk(model), [model]);
  useEffect(() => () => desk.close(), [desk]);
  useLayoutEffect(() => keysOf(desk), [desk]); // in the frame that shows the page: no key comes before
  const { clips } = view.course;
  if (clips.length === 0) return <h1>{s.noClips}</h1>;
  const open = desk.open.value;
  return (
    <article class="walk">
      <h1 class="unseen">{s.title}</h1>
      <Picture desk={desk} view={view} />
      <section class="walk-pieces" aria-label={s.pieces}>
        <Told desk={desk} />
        <Trouble problem={desk.spoken.problem.value} />
        <Met desk={desk} />
        <News desk={desk} view={view} />
        <ol>
          {desk.pieces.value.map((piece) => (
            <li key={piece.key} class={piece.key === open ? "piece piece-open" : "piece"}>
              {piece.key === open ? <OpenPiece desk={desk} view={view} piece={piece} /> : <ShutPiece desk={desk} piece={piece} />}
            </li>
          ))}
        </ol>
      </section>
    </article>
  );
}
