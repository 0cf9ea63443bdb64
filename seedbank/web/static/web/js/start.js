// The one module that every page loads. It improves what is there; without it every page still works.
import { offerScan } from "./scan/offer.js";

offerScan(document);
