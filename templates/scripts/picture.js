/* The list that says the same as the picture is folded; a picture wider than the page begins where the way begins. */
"use strict";
(function () {
  var list = document.querySelector(".routes");
  if (list) { list.open = false; }
  var frame = document.querySelector(".picture");
  var first = frame && frame.querySelector("a.node");
  if (!first || frame.scrollWidth <= frame.clientWidth) { return; }
  var box = first.getBoundingClientRect();
  var edge = frame.getBoundingClientRect();
  frame.scrollLeft = box.left - edge.left + box.width / 2 - frame.clientWidth / 2;
}());
