"use strict";
// Rows are hidden by what was asked; nothing is reckoned here.
(function () {
  var words = document.getElementById("words"), verdict = document.getElementById("verdict");
  var margin = document.getElementById("margin"), count = document.getElementById("count");
  var rows = Array.prototype.slice.call(document.querySelectorAll("#rows tbody tr"));
  document.querySelector(".asked").hidden = false;
  function look() {
    var asked = words.value.trim().toLowerCase().split(/\s+/).filter(Boolean);
    var least = margin.value === "" ? null : Number(margin.value), shown = 0;
    rows.forEach(function (row) {
      var text = row.textContent.toLowerCase();
      var spare = row.dataset.margin === "" ? -Infinity : Number(row.dataset.margin);
      var keep = asked.every(function (word) { return text.indexOf(word) >= 0; }) &&
        (!verdict.value || row.dataset.verdict === verdict.value) && (least === null || spare >= least);
      row.hidden = !keep;
      shown += keep ? 1 : 0;
    });
    count.textContent = shown + " of " + rows.length + " rows shown.";
  }
  [words, verdict, margin].forEach(function (one) { one.addEventListener("input", look); });
  look();
})();
