// Registers the elements; each page is complete without them.
import { CaseDocument } from "./case-document.js";
import { CaseFilm } from "./case-film.js";
import { MarkingPage } from "./marking-page.js";
import { submitFiltersAtOnce } from "./filters.js";

customElements.define("case-film", CaseFilm);
customElements.define("case-document", CaseDocument);
customElements.define("marking-page", MarkingPage);
submitFiltersAtOnce(document);
