/** Vector tiles that lie in the page: unpacked by the browser when the map first shows them. */

import MVT from 'ol/format/MVT';
import VectorTileLayer from 'ol/layer/VectorTile';
import VectorTileSource from 'ol/source/VectorTile';
import type { StyleFunction } from 'ol/style/Style';
import type VectorTile from 'ol/VectorTile';
import TileState from 'ol/TileState';
import { createXYZ } from 'ol/tilegrid';
import type { Tiles } from './case';

/** Bytes of base64, unpacked. */
async function unpacked(text: string): Promise<ArrayBuffer> {
  const bytes = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
  return new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream('gzip'))).arrayBuffer();
}

/** A layer of the tiles; `broken` is called once, where one of them is damaged. */
export function tileLayer(tiles: Tiles, style: StyleFunction, broken: () => void): VectorTileLayer {
  const found = new Map(tiles.tiles.map(([z, x, y, packed]) => [`${z}/${x}/${y}`, packed]));
  const least = Math.min(...tiles.tiles.map(([z]) => z));
  const format = new MVT({ layerName: 'layer' });
  let told = false;
  const source = new VectorTileSource({
    format,
    wrapX: false,
    tileGrid: createXYZ({ minZoom: least, maxZoom: tiles.zoom, tileSize: 512 }),
    tileUrlFunction: ([z, x, y]) => (found.has(`${z}/${x}/${y}`) ? `${z}/${x}/${y}` : undefined),
    tileLoadFunction: (tile, url) => {
      const vector = tile as VectorTile<any>;
      vector.setLoader((extent, _resolution, projection) => {
        void unpacked(found.get(url) ?? '')
          .then((bytes) => vector.setFeatures(format.readFeatures(bytes, { extent, featureProjection: projection })))
          .catch(() => {
            vector.setState(TileState.ERROR);
            if (!told) broken();
            told = true;
          });
      });
    },
  });
  return new VectorTileLayer({ source, zIndex: -1, declutter: 'map', style });
}

/** What a feature of a tile is, after the layers and kinds of common base maps; null for what is not drawn. */
export function meaning(layer: string, type: string): 'street' | 'building' | 'water' | null {
  if (type.endsWith('LineString')) return /road|transport|street|highway|path/.test(layer) ? 'street' : /water|river/.test(layer) ? 'water' : null;
  if (type.endsWith('Polygon')) return /build/.test(layer) ? 'building' : /water|ocean|lake/.test(layer) ? 'water' : null;
  return null;
}
