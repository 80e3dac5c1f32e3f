/** Hands a text to the browser as a file to save. */
export function saveFile(name: string, text: string): void {
  const url = URL.createObjectURL(new Blob([text], { type: "application/json" }));
  const link = document.createElement("a");
  link.href = url;
  link.download = name;
  link.click();
  // By the next task the browser has started the download.
  setTimeout(() => URL.revokeObjectURL(url), 0);
}
