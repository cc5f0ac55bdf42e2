/** Gaps and contradictions, in sentences, where they apply. */

import type { Finding } from "../api";
import { to } from "../models/route";
import { strings } from "../strings";
import { capital, Evidence, Link } from "./bits";

export function Findings({ findings, course }: { findings: readonly Finding[]; course?: string }) {
  if (findings.length === 0) return null;
  return (
    <ul class="findings">
      {findings.map((finding) => (
        <li key={`${finding.kind} ${finding.station} ${finding.surface} ${finding.about}`} class={`finding finding-${finding.severity}`}>
          <p>
            <span class="severity">{strings.finding.severity[finding.severity]}</span>
            {course !== undefined && finding.station !== null && (
              <>
                {" "}
                <Link href={to.station(course, finding.station)}>{strings.finding.atStation(finding.station)}</Link>
              </>
            )}{" "}
            {sentence(finding.about)}
          </p>
          <Evidence said={finding.said} />
        </li>
      ))}
    </ul>
  );
}

/** A finding's words as a sentence: a capital letter, and a full stop where none stands. */
export function sentence(about: string): string {
  const text = capital(about);
  return /[.!?]$/.test(text) ? text : `${text}.`;
}
