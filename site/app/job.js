/** Entry of its pages. */
"use strict";
