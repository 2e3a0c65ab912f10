// What the local page does more when scripts may run; all of it works without them too.
(function () {
  "use strict";
  var print = document.querySelector('a[href*="out=paper"]');
  if (print) {
    print.addEventListener("click", function (event) {
      event.preventDefault();
      window.print();
    });
  }
})();
