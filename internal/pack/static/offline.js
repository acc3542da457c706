// Where the lesson is served, it is kept for times without a network; from a folder it
// needs nothing.
"use strict";
if ("serviceWorker" in navigator && location.protocol !== "file:") {
  navigator.serviceWorker.register("sw.js").catch(() => { /* it is read over the network, as before */ });
}
