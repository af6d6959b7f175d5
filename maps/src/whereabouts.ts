/** The device's own position and speed. Nothing is asked before somebody wants it; it is watched only while a form is open. */

/** Faster than this, in metres per second, nobody walks. */
const WALKING = 2.5;

export interface Found {
  lat: string;
  lon: string;
  /** One standard deviation in metres. */
  sigma: string;
  /** The radius that holds 95 %. */
  metres: number;
  /** A sentence where the device moves faster than anybody walks, else empty. */
  fast: string;
}

/** Metres between two places that are near each other. */
function apart(a: GeolocationCoordinates, b: GeolocationCoordinates): number {
  const [north, east] = [a.latitude - b.latitude, (a.longitude - b.longitude) * Math.cos((a.latitude * Math.PI) / 180)];
  return 111_195 * Math.hypot(north, east);
}

export class Whereabouts {
  /** Whether the person said that somebody else drives. */
  passenger = false;
  /** Where the device was last. */
  last: Found | null = null;
  private watched: number | null = null;
  private before: GeolocationPosition | null = null;
  private allowed = false;

  private speed(found: GeolocationPosition): number {
    const { coords, timestamp } = found;
    if (coords.speed !== null) return coords.speed;
    // Two places tell a speed where they lie farther apart than both may be off.
    const { before } = this;
    if (!before) return 0;
    const seconds = (timestamp - before.timestamp) / 1000;
    const way = apart(coords, before.coords) - coords.accuracy - before.coords.accuracy;
    return seconds > 1 ? Math.max(0, way) / seconds : 0;
  }

  private take(found: GeolocationPosition): Found {
    const { latitude, longitude, accuracy } = found.coords;
    const speed = this.speed(found);
    this.before = found;
    this.allowed = true;
    // The accuracy is the radius that holds 95 % (W3C Geolocation); of a circular normal error that is 2.448 deviations.
    this.last = {
      lat: latitude.toFixed(7), lon: longitude.toFixed(7), sigma: Math.max(1, accuracy / 2.448).toFixed(1), metres: accuracy,
      fast: speed > WALKING ? `You move at ${(3.6 * speed).toFixed(0)} km/h.` : '',
    };
    return this.last;
  }

  /** Where the device is; a sentence where that is not known. */
  now(): Promise<Found | string> {
    return new Promise((resolve) => {
      if (!('geolocation' in navigator)) {
        resolve('This browser gives an opened file no position: tap the map or type it.');
        return;
      }
      navigator.geolocation.getCurrentPosition((found) => resolve(this.take(found)), (error) => {
        resolve(error.code === error.PERMISSION_DENIED
          ? 'The device does not give its position to this page: tap the map or type it.'
          : 'The device has no position now: tap the map or type it.');
      }, { enableHighAccuracy: true, timeout: 20_000, maximumAge: 5_000 });
    });
  }

  /** Watches the speed where the position was given before; `fast` is told once. */
  watch(fast: (words: string) => void): void {
    this.stop();
    if (!('geolocation' in navigator) || this.passenger) return;
    const begin = () => {
      this.watched = navigator.geolocation.watchPosition((found) => {
        const words = this.take(found).fast;
        if (words === '' || this.passenger || this.watched === null) return;
        this.stop();
        fast(words);
      }, () => this.stop(), { enableHighAccuracy: true, maximumAge: 5_000 });
    };
    if (this.allowed) begin();
    else void navigator.permissions?.query({ name: 'geolocation' }).then((p) => p.state === 'granted' && begin(), () => {});
  }

  stop(): void {
    if (this.watched !== null) navigator.geolocation.clearWatch(this.watched);
    this.watched = null;
  }
}
