/** A still that is being marked: the board, what is marked next, what was just said, and the sheet's things with their marks. */

import { useComputed, useSignal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { useLayoutEffect, useMemo } from "preact/hooks";
import type { StationView, Still } from "../api";
import { clock } from "../geometry/clock";
import type { CourseModel } from "../models/course";
import { strings } from "../strings";
import { MarkingBoard } from "./board";
import { FaceBoxes } from "./faces";
import { MarkList, NextMark } from "./list";
import { MarkingModel } from "./model";

type Shown = {
  model: CourseModel;
  at: StationView;
  still: Still;
  lit: string | null;
  point: (surface: string | null) => void;
  turn: ComponentChildren;
  faces: ComponentChildren;
};

export function Marking({ model, at, still, lit, point, turn, faces }: Shown) {
  const { id } = at.station;
  const now = () => model.stations.value.find((each) => each.station.id === id) ?? at;
  const station = useComputed(() => now().station);
  const blanket = useComputed(() => model.view.value?.course.blanket ?? []);
  const marking = useMemo(
    () => new MarkingModel(model.name, station, blanket, still, (edits) => model.editStation(now(), edits)),
    [model, id, still.id],
  );
  const litNow = useSignal(lit);
  useLayoutEffect(() => {
    litNow.value = lit;
  }, [lit]);
  const undoing = useMemo(() => ({ undo: () => model.undo(), redo: () => model.redo() }), [model]);
  const others = at.station.stills.filter((each) => each.id !== still.id);
  const name = strings.station.title(at.station.number, at.station.name ?? strings.station.unnamed);
  return (
    <figure class="still">
      <MarkingBoard model={marking} name={name} lit={litNow} point={point} undoing={undoing} others={others}>
        <FaceBoxes still={still} />
      </MarkingBoard>
      <Says marking={marking} />
      <NextMark model={marking} others={others} point={point} />
      <MarkList model={marking} lit={lit} point={point} />
      <figcaption>
        <span>{strings.still.at(clock(still.time_s))}</span>
        {turn}
      </figcaption>
      {still.why && <p class="quiet">{strings.still.why(still.why)}</p>}
      {faces}
    </figure>
  );
}

/** What just happened, for eyes and for screen readers. */
function Says({ marking }: { marking: MarkingModel }) {
  return (
    <p class="says" role="status">
      {marking.said.value}
    </p>
  );
}
