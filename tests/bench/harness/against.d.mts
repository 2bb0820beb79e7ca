export function commitOf(repo: string, ref: string): string;
export function inWorktree<T>(repo: string, commit: string, use: (folder: string) => Promise<T>): Promise<T>;
