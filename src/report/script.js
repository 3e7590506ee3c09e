"use strict";
(function () {
  function reveal() {
    var id = "";
    try { id = decodeURIComponent(location.hash.slice(1)); } catch (e) { return; }
    var target = id && document.getElementById(id);
    var fold = target && target.closest("details");
    if (!fold) { return; }
    fold.hidden = false;
    fold.open = true;
    fold.scrollIntoView();
    target.focus({ preventScroll: true });
  }
  window.addEventListener("hashchange", reveal);
  document.addEventListener("click", function (event) {
    var link = event.target.closest && event.target.closest("a[href^='#']");
    if (link && link.getAttribute("href") === location.hash) { reveal(); }
  });
  reveal();

  var vessels = Array.prototype.slice.call(document.querySelectorAll("details.vessel"));
  var tools = document.querySelector(".tools");
  if (tools) {
    tools.hidden = false;
    var setAll = function (open) { vessels.forEach(function (v) { if (!v.hidden) { v.open = open; } }); };
    document.getElementById("unfold").addEventListener("click", function () { setAll(true); });
    document.getElementById("fold").addEventListener("click", function () { setAll(false); });
    document.getElementById("vessel-filter").addEventListener("input", function () {
      var wanted = this.value.trim().toLowerCase();
      vessels.forEach(function (v) {
        v.hidden = v.querySelector("summary").textContent.toLowerCase().indexOf(wanted) < 0;
      });
    });
  }

  document.querySelectorAll("table.sortable").forEach(function (table) {
    var body = table.tBodies[0];
    table.querySelectorAll("thead th").forEach(function (head, column) {
      var button = document.createElement("button");
      button.type = "button";
      while (head.firstChild) { button.appendChild(head.firstChild); }
      head.appendChild(button);
      button.addEventListener("click", function () {
        var up = head.getAttribute("aria-sort") !== "ascending";
        table.querySelectorAll("thead th").forEach(function (other) { other.removeAttribute("aria-sort"); });
        head.setAttribute("aria-sort", up ? "ascending" : "descending");
        var numeric = head.classList.contains("number");
        var key = function (row) {
          var cell = row.cells[column];
          if (!numeric) { return cell.textContent; }
          return cell.dataset.key === undefined ? null : Number(cell.dataset.key);
        };
        Array.prototype.slice.call(body.rows).map(function (row) { return { row: row, key: key(row) }; }).sort(function (a, b) {
          if (a.key === null || b.key === null) { return (a.key === null) - (b.key === null); }
          var order = numeric ? a.key - b.key : a.key.localeCompare(b.key, undefined, { numeric: true });
          return up ? order : -order;
        }).forEach(function (entry) { body.appendChild(entry.row); });
      });
    });
  });
}());
