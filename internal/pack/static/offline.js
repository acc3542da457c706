// Where the lesson is served, it is kept for times without a network; from a folder it
// needs nothing, and in a frame that is nobody's (a sandbox) it may not.
"use strict";
if (self.origin !== "null" && "serviceWorker" in navigator && location.protocol !== "file:") {
  navigator.serviceWorker.register("sw.js").catch(() => { /* it is read over the network, as before */ });
}
