/** What is used of lean-qr 2.7.4 (MIT, see lean-qr-LICENSE.txt), which ships its types under a module's name. */
export interface Segment {
  (data: unknown, version: number): void;
}
export interface Bitmap {
  readonly size: number;
  get(x: number, y: number): boolean;
}
export const correction: Readonly<Record<'min' | 'L' | 'M' | 'Q' | 'H' | 'max', number>>;
export const mode: Readonly<{
  numeric(text: string): Segment;
  ascii(text: string): Segment;
  multi(...segments: Segment[]): Segment;
}>;
export function generate(
  data: Segment,
  options: Readonly<{
    minCorrectionLevel: number;
    maxCorrectionLevel: number;
    minVersion?: number;
    maxVersion?: number;
  }>,
): Bitmap;
