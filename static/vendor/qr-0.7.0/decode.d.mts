/** What is used of qr 0.7.0 (MIT or Apache-2.0, see LICENSE.txt), whose own types say much more. Throws where it finds no code. */
export function decodeQR(
  picture: { readonly width: number; readonly height: number; readonly data: Uint8ClampedArray },
  options?: { readonly effort?: number; readonly timeLimit?: number },
): string;
