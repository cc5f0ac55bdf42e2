import { render } from "preact";
import "@fontsource/atkinson-hyperlegible/latin-400.css";
import "@fontsource/atkinson-hyperlegible/latin-700.css";
import "@fontsource/atkinson-hyperlegible/latin-ext-400.css";
import "@fontsource/atkinson-hyperlegible/latin-ext-700.css";
import "./style/floor.css";
import "./style/pages.css";
import "./style/marks.css";
import "./style/marking.css";
import "./style/listening.css";
import "./style/course.css";
import "./style/sheet.css";
import { App } from "./app";
import { outbox } from "./models/outbox";
import { followHistory } from "./models/route";

const root = document.getElementById("app");
if (root) {
  followHistory();
  outbox.open();
  render(<App />, root);
}
