/** Service worker. */
"use strict";
