/** Entry of the front page: the one box, and what is new. */

import { Search } from "./search.js";

const form = document.querySelector("form.search");
if (form instanceof HTMLFormElement) new Search(form);
