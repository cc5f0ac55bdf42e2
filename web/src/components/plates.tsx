/** The course as a row of numbered plates: the way around, and how each station stands, as shape and word. */

import type { Plate } from "../api";
import { to } from "../models/route";
import { strings } from "../strings";
import { Link } from "./bits";

type Row = { course: string; title: string; plates: readonly Plate[]; at: number | null; walk?: boolean };

export function Plates({ course, title, plates, at, walk = false }: Row) {
  return (
    <nav class="plates" aria-label={strings.course.row}>
      <Link href={to.course(course)} class="course-plate" aria-current={at === null && !walk ? "page" : undefined} title={title}>
        {strings.course.whole}
      </Link>
      <Link href={to.walk(course)} class="course-plate" aria-current={walk ? "page" : undefined}>
        {strings.listening.link}
      </Link>
      <ol>
        {plates.map((plate) => (
          <li key={plate.id}>
            <Link
              href={to.station(course, plate.number)}
              class={`plate plate-${plate.standing}`}
              aria-current={at === plate.number ? "page" : undefined}
            >
              <b>{plate.number}</b>
              <span class="word">{strings.standing[plate.standing]}</span>
              {plate.findings > 0 && (
                <span class="open">
                  <span aria-hidden="true">{plate.findings}</span>
                  <span class="unseen">{strings.course.openAtAll(plate.findings)}</span>
                </span>
              )}
            </Link>
          </li>
        ))}
      </ol>
    </nav>
  );
}

/** The same row, small and not to be tapped, for the list of courses. */
export function SmallPlates({ plates }: { plates: readonly Plate[] }) {
  return (
    <span class="small-plates" aria-hidden="true">
      {plates.map((plate) => (
        <i key={plate.id} class={`plate-${plate.standing}`}>
          {plate.number}
        </i>
      ))}
    </span>
  );
}
