/** Which page stands at which address. */

import { Link } from "./components/bits";
import { Frame } from "./components/frame";
import { route, to } from "./models/route";
import { CoursePages } from "./pages/course";
import { Courses } from "./pages/courses";
import { TakeInPage } from "./pages/takein";
import { strings } from "./strings";

export function App() {
  const now = route.value;
  switch (now.page) {
    case "courses":
      return <Courses />;
    case "take-in":
      return <TakeInPage />;
    case "course":
      return <CoursePages key={now.course} course={now.course} number={null} />;
    case "walk":
      return <CoursePages key={now.course} course={now.course} number={null} walk />;
    case "station":
      return <CoursePages key={now.course} course={now.course} number={now.number} />;
    case "nowhere":
      return (
        <Frame>
          <h1>{strings.nowhere}</h1>
          <p>
            <Link href={to.courses}>{strings.noCourse}</Link>
          </p>
        </Frame>
      );
  }
}
