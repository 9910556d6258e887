"use strict";
(function () {
	var svg = document.getElementById("plan");
	if (!svg) { return; }
	var whole = svg.viewBox.baseVal;
	var full = [whole.x, whole.y, whole.width, whole.height];
	var view = full.slice();
	function show() { svg.setAttribute("viewBox", view.join(" ")); }
	function zoom(factor, cx, cy) {
		var w = Math.min(full[2], Math.max(full[2] / 60, view[2] * factor));
		var f = w / view[2];
		view = [cx - (cx - view[0]) * f, cy - (cy - view[1]) * f, w, view[3] * f];
		show();
	}
	function middle() { return [view[0] + view[2] / 2, view[1] + view[3] / 2]; }
	function move(dx, dy) { view[0] += dx * view[2]; view[1] += dy * view[3]; show(); }
	function place(e) {
		var m = svg.getScreenCTM().inverse();
		var p = new DOMPoint(e.clientX, e.clientY).matrixTransform(m);
		return [p.x, p.y];
	}
	function reset() { view = full.slice(); show(); }
	svg.addEventListener("wheel", function (e) {
		e.preventDefault();
		var p = place(e);
		zoom(e.deltaY > 0 ? 1.25 : 0.8, p[0], p[1]);
	}, { passive: false });
	var held = new Map(), spread = 0;
	svg.addEventListener("pointerdown", function (e) { svg.setPointerCapture(e.pointerId); held.set(e.pointerId, place(e)); spread = 0; });
	svg.addEventListener("pointermove", function (e) {
		if (!held.has(e.pointerId)) { return; }
		var p = place(e), before = held.get(e.pointerId);
		if (held.size === 1) {
			view[0] -= p[0] - before[0]; view[1] -= p[1] - before[1]; show();
			return;
		}
		held.set(e.pointerId, p);
		var q = Array.from(held.values());
		var now = Math.hypot(q[0][0] - q[1][0], q[0][1] - q[1][1]) / view[2];
		if (spread > 0 && now > 0) { zoom(spread / now, (q[0][0] + q[1][0]) / 2, (q[0][1] + q[1][1]) / 2); }
		spread = now;
	});
	["pointerup", "pointercancel"].forEach(function (n) { svg.addEventListener(n, function (e) { held.delete(e.pointerId); spread = 0; }); });
	svg.addEventListener("keydown", function (e) {
		var m = middle();
		var keys = { "+": function () { zoom(0.8, m[0], m[1]); }, "-": function () { zoom(1.25, m[0], m[1]); }, "0": reset,
			ArrowLeft: function () { move(-0.1, 0); }, ArrowRight: function () { move(0.1, 0); },
			ArrowUp: function () { move(0, -0.1); }, ArrowDown: function () { move(0, 0.1); } };
		if (keys[e.key]) { e.preventDefault(); keys[e.key](); }
	});
	document.querySelectorAll("[data-zoom]").forEach(function (b) {
		b.addEventListener("click", function () {
			var m = middle(), f = parseFloat(b.dataset.zoom);
			if (f) { zoom(f, m[0], m[1]); } else { reset(); }
		});
	});
})();
(function () {
	var form = document.getElementById("filter"), table = document.getElementById("list");
	if (!form || !table) { return; }
	var body = table.tBodies[0], rows = Array.from(body.rows), output = form.querySelector("output");
	var texts = rows.map(function (r) { return r.textContent.toLowerCase(); });
	function filter() {
		var text = form.elements.text.value.trim().toLowerCase(), look = form.elements.look.checked, shown = 0;
		rows.forEach(function (r, i) {
			var show = texts[i].indexOf(text) >= 0 && (!look || r.lastElementChild.textContent !== "");
			r.hidden = !show;
			if (show) { shown++; }
		});
		output.textContent = shown === rows.length ? "" : shown + " of " + rows.length;
	}
	form.addEventListener("input", filter);
	form.addEventListener("submit", function (e) { e.preventDefault(); });
	var decimal = document.documentElement.dataset.decimal;
	function value(r, column) {
		var text = r.cells[column].textContent;
		var plain = text.replace(/\u2212/g, "-");
		plain = decimal === "," ? plain.replace(/[.\u202f]/g, "").replace(",", ".") : plain.replace(/,/g, "");
		return text !== "" && isFinite(plain) ? parseFloat(plain) : text;
	}
	Array.from(table.tHead.rows[0].cells).forEach(function (head, column) {
		// No button element: those are not repeated with the head of a printed table.
		var button = document.createElement("span"), up = true;
		button.tabIndex = 0;
		button.setAttribute("role", "button");
		button.append.apply(button, Array.from(head.childNodes));
		head.append(button);
		button.addEventListener("keydown", function (e) {
			if (e.key === "Enter" || e.key === " ") { e.preventDefault(); button.click(); }
		});
		button.addEventListener("click", function () {
			var keyed = rows.map(function (r) { return [value(r, column), r]; });
			keyed.sort(function (a, b) {
				var x = a[0], y = b[0], order;
				if (typeof x !== typeof y) { return typeof x === "number" ? -1 : 1; }
				order = x < y ? -1 : x > y ? 1 : 0;
				return up ? order : -order;
			});
			Array.from(table.tHead.rows[0].cells).forEach(function (h) { h.removeAttribute("aria-sort"); });
			head.setAttribute("aria-sort", up ? "ascending" : "descending");
			up = !up;
			body.append.apply(body, keyed.map(function (k) { return k[1]; }));
		});
	});
})();
