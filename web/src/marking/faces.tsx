/** What will be blurred when a still is published, and the word of a person who looked. */

import type { StationView, Still } from "../api";
import type { CourseModel } from "../models/course";
import { strings } from "../strings";

export function FaceBoxes({ still }: { still: Still }) {
  if (still.faces_shown) return null;
  return (
    <>
      {still.faces?.map((box) => (
        <Face key={box.join(" ")} box={box} still={still} />
      ))}
    </>
  );
}

function Face({ box: [left, top, right, bottom], still }: { box: readonly [number, number, number, number]; still: Still }) {
  const share = (length: number, of: number) => `${(length / of) * 100}%`;
  return (
    <span
      class="face"
      style={{
        left: share(left, still.width),
        top: share(top, still.height),
        width: share(right - left, still.width),
        height: share(bottom - top, still.height),
      }}
      aria-hidden="true"
    />
  );
}

export function Faces({ model, at, still }: { model: CourseModel; at: StationView; still: Still }) {
  const s = strings.still;
  if (still.faces_shown) return <p class="quiet">{s.facesShown(still.faces_shown.by, still.faces_shown.because)}</p>;
  if (still.faces === null) return null;
  if (still.faces_by) return <p class="quiet">{s.facesSeen(still.faces.length, still.faces_by)}</p>;
  return (
    <div class="faces">
      <p>{s.faces(still.faces.length)}</p>
      <button
        type="button"
        class="plain"
        onClick={() => void model.editStation(at, [{ do: "set-faces", station: at.station.number, still: still.id }])}
      >
        {s.facesCovered}
      </button>
    </div>
  );
}
