(function () {
  "use strict";
  var steps = Array.prototype.slice.call(document.querySelectorAll(".step"));
  if (steps.length === 0) { return; }
  var back = document.getElementById("back");
  var next = document.getElementById("next");
  var where = document.getElementById("where");
  var say = document.getElementById("say");
  var area = document.getElementById("steps");
  var more = document.getElementById("more");
  var foot = document.querySelector(".foot");
  var now = -1;
  document.documentElement.classList.add("js");

  function hides() {
    var below = steps[now].getBoundingClientRect().bottom - foot.getBoundingClientRect().top;
    more.hidden = below < 12;
  }

  function show(wanted, aloud) {
    var at = Math.max(0, Math.min(steps.length - 1, wanted));
    if (at === now) { return; }
    if (now >= 0) { steps[now].classList.remove("now"); }
    now = at;
    steps[at].classList.add("now");
    back.disabled = at === 0;
    next.disabled = at === steps.length - 1;
    document.documentElement.classList.toggle("on", at > 0);
    where.textContent = at === 0 ? "Setting up" : "Step\u00a0" + at + " of\u00a0" + (steps.length - 1);
    if (aloud) {
      var words = steps[at].querySelectorAll("h2, .which, .finding, .lead, .say, .why, .feed, .stand, .pole, .tell .ticks li");
      say.textContent = Array.prototype.map.call(words, function (one) { return one.textContent; }).join(" ");
      if (window.scrollY > area.offsetTop) { window.scrollTo(0, area.offsetTop); }
      hides();
      try { history.replaceState(null, "", "#" + at); } catch (error) { where.title = ""; }
    }
  }

  function asked() {
    if (location.hash === "#whole") { return now; }
    var told = parseInt(location.hash.slice(1), 10);
    if (location.hash === "") { told = parseInt(area.getAttribute("data-next"), 10); }
    return told || 0;
  }

  back.addEventListener("click", function () { show(now - 1, true); });
  next.addEventListener("click", function () { show(now + 1, true); });
  window.addEventListener("hashchange", function () { show(asked(), true); });

  document.addEventListener("keydown", function (event) {
    if (event.altKey || event.ctrlKey || event.metaKey) { return; }
    var own = event.target.closest("input, button, a, summary");
    var to = { ArrowRight: now + 1, ArrowLeft: now - 1, Home: 0, End: steps.length - 1 }[event.key];
    if (event.key === " ") {
      if (own) { return; }
      to = event.shiftKey ? now - 1 : now + 1;
    }
    if (to === undefined) { return; }
    event.preventDefault();
    show(to, true);
  });

  var from = null;
  area.addEventListener("touchstart", function (event) {
    from = event.touches.length === 1 ? [event.touches[0].clientX, event.touches[0].clientY] : null;
  }, { passive: true });
  area.addEventListener("touchend", function (event) {
    if (from === null) { return; }
    var over = event.changedTouches[0].clientX - from[0];
    var down = event.changedTouches[0].clientY - from[1];
    from = null;
    if (Math.abs(over) >= 60) {
      if (Math.abs(over) >= 2 * Math.abs(down)) { show(now + (over >= 0 ? -1 : 1), true); }
    }
  }, { passive: true });

  more.addEventListener("click", function () {
    window.scrollBy(0, Math.max(80, foot.getBoundingClientRect().top * 0.7));
  });
  window.addEventListener("scroll", hides, { passive: true });
  window.addEventListener("resize", hides);

  show(asked(), false);
  hides();
}());
