/* Why this exists: a proof file goes to the disk and leaves the page as it was, and then nobody sees
   the digest to compare it with. So the file is fetched here, handed to the browser to be saved, and
   the list on the page is read again. Without this script the form works as any form does, and the
   digest is there when the page is loaded again. */
"use strict";

(() => {
  const form = document.getElementById("give");
  const says = form.querySelector("[role=status]");
  const button = form.querySelector("button");

  function save(blob, name) {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(blob);
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
  }

  async function refusal(response) {
    const page = new DOMParser().parseFromString(await response.text(), "text/html");
    return page.getElementById("says")?.textContent.trim() || "It was refused: load the page again.";
  }

  async function readListAgain() {
    const page = new DOMParser().parseFromString(
      await (await fetch(location.href)).text(), "text/html");
    const fresh = page.getElementById("given");
    if (fresh) document.getElementById("given").replaceChildren(...fresh.childNodes);
  }

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    button.disabled = true;
    says.textContent = "It is being put together …";
    try {
      const response = await fetch(form.action, { method: "POST", body: new FormData(form) });
      if (response.ok && response.headers.get("Content-Type") === "application/zip") {
        const told = response.headers.get("Content-Disposition") ?? "";
        const name = /filename="([^"]+)"/.exec(told)?.[1] ?? "proof.zip";
        save(await response.blob(), name);
        says.textContent = `${name} was given; its digest stands first below.`;
        await readListAgain();
      } else {
        says.textContent = await refusal(response);
      }
    } catch {
      says.textContent = "There is no connection: look below whether it was given, then try again.";
    }
    button.disabled = false;
  });
})();
