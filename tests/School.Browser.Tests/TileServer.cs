using System.Collections.Concurrent;
using System.Globalization;
using System.Net;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.Logging;

namespace School.Browser.Tests;

/// <summary>A source of map tiles on the loopback: every tile is the same green.</summary>
internal sealed class TileServer : IAsyncDisposable
{
    private static readonly byte[] Green = Convert.FromBase64String(
        "iVBORw0KGgoAAAANSUhEUgAAAQAAAAEAAQMAAABmvDolAAAAA1BMVEXP3MCLYKQEAAAAH0lEQVR42u3BAQ0AAADCoPdPbQ43oAAAAAAAAAAAvg0hAAABYOSdlwAAAABJRU5ErkJggg==");

    private readonly WebApplication _app;

    private TileServer(WebApplication app) => _app = app;

    public string Address => $"{_app.Urls.Single()}/{{z}}/{{x}}/{{y}}.png";

    /// <summary>The zoom, column and row of every tile that was asked for.</summary>
    public ConcurrentQueue<(int Zoom, int X, int Y)> Asked { get; } = [];

    /// <summary>Whoever sent the name of the page along with a request.</summary>
    public ConcurrentQueue<string> Referrers { get; } = [];

    public static async Task<TileServer> StartAsync()
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.WebHost.ConfigureKestrel(kestrel => kestrel.Listen(IPAddress.Loopback, 0));
        builder.Logging.ClearProviders();
        var server = new TileServer(builder.Build());
        server._app.MapGet("/{z:int}/{x:int}/{y:int}.png", (int z, int x, int y, HttpRequest request) =>
        {
            server.Asked.Enqueue((z, x, y));
            if (request.Headers.Referer.Count > 0)
            {
                server.Referrers.Enqueue(request.Headers.Referer.ToString());
            }

            return Results.Bytes(Green, "image/png");
        });
        await server._app.StartAsync();
        return server;
    }

    /// <summary>
    /// Longitude and latitude of a point so many pixels right of and below another, on the web's usual map: Mercator on a sphere, a world of
    /// 256 pixels at zoom 0, twice that at each further one (EPSG:3857; the formulas are from memory).
    /// </summary>
    public static (double Latitude, double Longitude) Moved((double Latitude, double Longitude) from, int zoom, double right, double down)
    {
        var world = 256 * Math.Pow(2, zoom);
        var north = Math.Asinh(Math.Tan(from.Latitude * Math.PI / 180)) - (down * 2 * Math.PI / world);
        return (Math.Atan(Math.Sinh(north)) * 180 / Math.PI, from.Longitude + (right * 360 / world));
    }

    public static (double Latitude, double Longitude) Read(string text) =>
        text.Split(", ") is [var lat, var lon] ? (double.Parse(lat, CultureInfo.InvariantCulture), double.Parse(lon, CultureInfo.InvariantCulture)) : throw new FormatException(text);

    public ValueTask DisposeAsync() => _app.DisposeAsync();
}
