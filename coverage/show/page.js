"use strict";
// What this adds: zooming to a place, and one picture over the other. The page reads without it.
(function () {
	var picture = document.getElementById("picture"), zoom = document.getElementById("zoom");
	var tags = Array.from(document.querySelectorAll(".findings a[data-at]")), now = -1, from = null;
	function chart(c, place, near) {
		var whole = c.dataset.whole.split(" ").map(Number), art = c.dataset.art.split(" ").map(Number);
		var old = c.querySelector(".close");
		if (old) { old.remove(); }
		c.classList.toggle("zoomed", place !== null);
		c.style.setProperty("--thin", 1);
		if (place === null) { c.setAttribute("viewBox", c.dataset.whole); return; }
		function on(s) {
			var b = s.split(" ").map(Number);
			return [art[0] + b[0] * art[2], art[1] + b[1] * art[3], b[2] * art[2], b[3] * art[3]];
		}
		var b = on(place), w = whole[2], h = whole[3];
		var times = Math.max(1, Math.min(14, w / (2 * b[2] + 1), h / (2 * b[3] + 1))), vw = w / times, vh = h / times;
		var x = Math.min(Math.max(b[0] + b[2] / 2 - vw / 2, 0), w - vw), y = Math.min(Math.max(b[1] + b[3] / 2 - vh / 2, 0), h - vh);
		c.style.setProperty("--thin", 1.5 / times);
		c.setAttribute("viewBox", [x, y, vw, vh].map(function (v) { return v.toFixed(2); }).join(" "));
		if (near) { // the art's own pixels
			var sharp = near.cloneNode(false), n = on(near.dataset.at);
			sharp.classList.add("close");
			["x", "y", "width", "height"].forEach(function (k, i) { sharp.setAttribute(k, n[i].toFixed(3)); });
			c.querySelector("use").after(sharp);
		}
	}
	function show(i) {
		now = i;
		var a = tags[i], near = a ? document.querySelector("#near-" + a.dataset.tag + " image") : null;
		document.querySelectorAll(".chart").forEach(function (c) { chart(c, a ? a.dataset.at : null, near); });
		document.getElementById("zoom-said").textContent = a ? a.dataset.tag + ": " + a.dataset.said : "The whole picture. Choose a number to zoom there.";
		document.getElementById("zoom-whole").disabled = !a;
	}
	function step(by) { show((now + by + (now < 0 && by < 0 ? 1 : 0) + tags.length) % tags.length); }
	function go(i, origin) {
		from = origin;
		show(i);
		picture.focus({ preventScroll: true });
		picture.scrollIntoView({ block: "nearest" });
	}
	if (picture && tags.length) {
		zoom.hidden = false;
		picture.tabIndex = 0;
		picture.setAttribute("aria-describedby", "zoom-keys");
		tags.forEach(function (a, i) { a.addEventListener("click", function (e) { e.preventDefault(); go(i, a); }); });
		document.querySelectorAll(".chart a").forEach(function (a) {
			a.addEventListener("click", function (e) {
				e.preventDefault();
				go(tags.findIndex(function (t) { return t.dataset.tag === a.dataset.tag; }), null);
			});
		});
		document.getElementById("zoom-last").addEventListener("click", function () { step(-1); });
		document.getElementById("zoom-next").addEventListener("click", function () { step(1); });
		document.getElementById("zoom-whole").addEventListener("click", function () { show(-1); });
		document.getElementById("places").addEventListener("keydown", function (e) {
			if (e.altKey || e.ctrlKey || e.metaKey) { return; }
			if (e.key === "ArrowRight") { step(1); } else if (e.key === "ArrowLeft") { step(-1); } else if (e.key === "Escape" && now >= 0) {
				show(-1);
				if (from) { from.focus(); }
			} else { return; }
			e.preventDefault();
		});
		window.addEventListener("beforeprint", function () { show(-1); });
		show(-1);
	}
	var compare = document.getElementById("compare"), cut = document.getElementById("cut");
	if (compare && cut) {
		compare.classList.add("over");
		document.getElementById("slide").hidden = false;
		var slide = function () { compare.style.setProperty("--cut", cut.value + "%"); };
		cut.addEventListener("input", slide);
		slide();
	}
})();
