/** The course as a row of numbered plates: the way around, and how each station stands, as shape and word. */

import { useLayoutEffect, useRef } from "preact/hooks";
import type { Plate } from "../api";
import { to } from "../models/route";
import { strings } from "../strings";
import { Link } from "./bits";

type Row = { course: string; title: string; plates: readonly Plate[]; at: number | null; walk?: boolean };

export function Plates({ course, title, plates, at, walk = false }: Row) {
  const row = useRef<HTMLElement>(null);
  useLayoutEffect(() => showOpen(row.current), [at, walk, plates.length]);
  return (
    <nav ref={row} class="plates" aria-label={strings.course.row}>
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

/** Moves the row, and nothing else, until the plate of the open page stands in its middle; not where all of it is seen anyway. */
function showOpen(row: HTMLElement | null): void {
  const open = row?.querySelector('[aria-current="page"]')?.getBoundingClientRect();
  if (!row || !open) return;
  const seen = row.getBoundingClientRect();
  if (open.left < seen.left + EDGE_PX || open.right > seen.right - EDGE_PX)
    row.scrollLeft += (open.left + open.right - seen.left - seen.right) / 2;
}

const EDGE_PX = 8; // its outline

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
