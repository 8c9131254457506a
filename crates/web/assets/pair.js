// On the page that pairs a phone: the code that a camera brought behind "#" goes into its field, and out of the address and
// the history. What stands behind "#" is never sent by a browser.
"use strict";

const field = document.getElementById("code");
const code = location.hash.slice(1);
if (code) history.replaceState(null, "", location.pathname);
if (field && /^[0-9]{8}$/.test(code)) {
  field.value = code;
  document.getElementById("name").focus();
}
