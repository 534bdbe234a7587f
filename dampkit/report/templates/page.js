"use strict";
(function () {
  const data = JSON.parse(document.getElementById("picture-data").textContent);
  const drawn = new Set();
  const settings = {
    displaylogo: false,
    responsive: true,
    displayModeBar: true,
    modeBarButtons: [["zoom2d", "pan2d", "zoomIn2d", "zoomOut2d", "resetScale2d", "toImage"]],
  };

  const beside = document.currentScript.dataset.library;

  const axis = { gridcolor: "ink:rule", zerolinecolor: "ink:ink", automargin: true };
  const usual = {
    xaxis: axis,
    yaxis: axis,
    legend: { orientation: "h", y: -0.1, font: { size: 13 } },
    margin: { l: 50, r: 10, t: 80, b: 30 },
    font: { size: 14, color: "ink:ink" },
    paper_bgcolor: "ink:paper",
    plot_bgcolor: "ink:paper",
    hovermode: "closest",
  };

  function withLibrary(then, failed) {
    if (window.Plotly) return then();
    const script = document.createElement("script");
    if (beside) {
      script.onload = then;
      script.onerror = failed;
      script.src = beside;
      document.head.appendChild(script);
    } else {
      script.textContent = document.getElementById("plot-library").textContent;
      document.head.appendChild(script);
      then();
    }
  }

  function coloured(value) {
    if (typeof value === "string" && value.startsWith("ink:")) {
      return getComputedStyle(document.documentElement).getPropertyValue("--" + value.slice(4)).trim();
    }
    if (Array.isArray(value)) return value.map(coloured);
    if (value && typeof value === "object") {
      return Object.fromEntries(Object.entries(value).map(([key, part]) => [key, coloured(part)]));
    }
    return value;
  }

  function draw(id) {
    const live = document.getElementById(id + "-live");
    live.hidden = false;
    const own = data[id].layout;
    const layout = Object.assign({}, usual, own, { yaxis: Object.assign({}, axis, own.yaxis) });
    const figure = coloured({ data: data[id].data, layout: layout });
    window.Plotly.react(live, figure.data, figure.layout, settings);
    document.getElementById(id + "-still").hidden = true;
    document.getElementById(id + "-legend").hidden = true;
    drawn.add(id);
  }

  for (const button of document.querySelectorAll("button.zoom")) {
    button.hidden = false;
    button.addEventListener("click", function () {
      withLibrary(
        function () {
          draw(button.dataset.picture);
          button.hidden = true;
        },
        function () {
          button.textContent = "No zoom: the file " + beside + " is not beside this page";
          button.disabled = true;
        },
      );
    });
  }

  const opener = document.getElementById("open-all");
  if (opener) {
    opener.hidden = false;
    opener.addEventListener("click", function () {
      for (const part of document.querySelectorAll("details")) part.open = true;
    });
  }

  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => drawn.forEach(draw));
})();
