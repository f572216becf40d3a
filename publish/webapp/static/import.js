"use strict";

// A file may be dropped anywhere on the page.
{
  const form = document.querySelector("[data-drop]");
  if (form) {
    const input = form.querySelector("input[type=file]");
    const over = (on) => form.classList.toggle("over", on);
    addEventListener("dragover", (event) => { event.preventDefault(); over(true); });
    addEventListener("dragleave", (event) => { if (!event.relatedTarget) over(false); });
    addEventListener("drop", (event) => {
      event.preventDefault();
      over(false);
      if (event.dataTransfer.files.length !== 1) return;
      input.files = event.dataTransfer.files;
      form.requestSubmit();
    });
  }
}

// Another answer about the file is tried at once.
document.getElementById("settle")?.addEventListener("change", (event) => event.currentTarget.requestSubmit());
