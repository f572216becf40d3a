"use strict";

// The answer follows the sliders. Only the last question is waited for.
{
  const form = document.getElementById("limit");
  const answer = document.getElementById("answer");
  let timer, asked;
  const ask = async () => {
    asked?.abort();
    asked = new AbortController();
    const words = new URLSearchParams(new FormData(form));
    answer.setAttribute("aria-busy", "true");
    try {
      const got = await fetch(`/limit/answer?${words}`, { signal: asked.signal });
      if (!got.ok) return;
      const fresh = new DOMParser().parseFromString(await got.text(), "text/html");
      answer.replaceChildren(...fresh.body.childNodes);
      history.replaceState(null, "", `/limit?${words}`);
      answer.removeAttribute("aria-busy");
    } catch (fault) {
      if (fault.name !== "AbortError") answer.removeAttribute("aria-busy");
    }
  };
  for (const slider of form.querySelectorAll("input[type=range]")) {
    const shown = slider.closest("label").querySelector("output");
    slider.addEventListener("input", () => {
      shown.textContent = slider.value + slider.dataset.unit;
      clearTimeout(timer);
      timer = setTimeout(ask, 160);
    });
  }
}
