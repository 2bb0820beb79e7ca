/**
 * Paths of files that documents name, without a file system: forward slashes join, both kinds of slash separate, and
 * `.` and `..` are settled, so that one file has one name in messages.
 */

/** The folder that a file lies in; `.` where its path names none. */
export function folderOf(path: string): string {
  const cut = Math.max(path.lastIndexOf('/'), path.lastIndexOf('\\'));
  return cut < 0 ? '.' : cut === 0 ? path.slice(0, 1) : path.slice(0, cut);
}

/** A path that is read from a folder, unless it is absolute. */
export function beside(folder: string, path: string): string {
  if (isAbsolute(path)) return path;
  const host = /^[A-Za-z][\w+.-]+:\/\/[^/\\]+/.exec(folder)?.[0];
  const root = host === undefined ? (/^(?:[A-Za-z]:)?[/\\]/.exec(folder)?.[0] ?? '') : `${host}/`;
  const parts: string[] = [];
  for (const part of [...folder.slice(root.length).split(/[/\\]/), ...path.split(/[/\\]/)]) {
    if (part === '' || part === '.') continue;
    if (part === '..' && parts.length > 0 && parts[parts.length - 1] !== '..') parts.pop();
    else if (part !== '..' || root === '') parts.push(part);
  }
  return root + parts.join('/') || '.';
}

/** Whether a path begins at the root of a file system: `/data`, `C:\\data`; or is an address, `https://host/data`. */
export function isAbsolute(path: string): boolean {
  return /^(?:(?:[A-Za-z]:)?[/\\]|[A-Za-z][\w+.-]+:\/\/)/.test(path);
}
