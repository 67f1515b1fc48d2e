using System.Globalization;
using System.Text;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Http.Extensions;
using Microsoft.Extensions.Logging;
using School.Core.Travel;

namespace School.Web.Tests.Travel.Routing;

/// <summary>One question as it reached the server.</summary>
internal sealed record TableQuestion(IReadOnlyList<Coordinates> Places, int[] Sources, int[] Destinations)
{
    public static TableQuestion Read(HttpRequest request)
    {
        var points = ((string)request.RouteValues["points"]!).Split(';').Select(point => point.Split(',')).Select(
            parts => new Coordinates(double.Parse(parts[1], CultureInfo.InvariantCulture), double.Parse(parts[0], CultureInfo.InvariantCulture))).ToList();
        return new(points, Numbers("sources"), Numbers("destinations"));

        int[] Numbers(string name) => request.Query[name] is [{ } list]
            ? [.. list.Split(';').Select(number => int.Parse(number, CultureInfo.InvariantCulture))]
            : [.. Enumerable.Range(0, points.Count)];
    }

    /// <summary>A table in which every drive goes 1.4 times the straight line at 4 metres a second, unless the first row's last cell says otherwise.</summary>
    public string Table(string? cell = null, int extraRows = 0)
    {
        string Rows(Func<double, double> of) => string.Join(',', Sources.Concat(Enumerable.Repeat(Sources[0], extraRows)).Select((s, row) => "[" + string.Join(',', Destinations.Select((d, column) =>
            cell is not null && row == 0 && column == Destinations.Length - 1 ? cell : of(Places[s].DistanceMetres(Places[d]) * Detour).ToString(CultureInfo.InvariantCulture))) + "]"));
        return $$"""{"code":"Ok","durations":[{{Rows(metres => metres / MetresPerSecond)}}],"distances":[{{Rows(metres => metres)}}],"sources":[],"destinations":[]}""";
    }

    public const double Detour = 1.4;
    public const double MetresPerSecond = 4;
}

/// <summary>A table service on the loopback that does what a test tells it to.</summary>
internal sealed class TableServer : IAsyncDisposable
{
    private readonly WebApplication _app;
    private int _asked;

    private TableServer(WebApplication app) => _app = app;

    public string Url => _app.Urls.Single();

    public int Asked => _asked;

    public List<TableQuestion> Questions { get; } = [];

    public Func<TableQuestion, Task<(int Status, string Body)>> Answer { get; set; } = question => Task.FromResult((200, question.Table()));

    public static async Task<TableServer> StartAsync()
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.WebHost.UseUrls("http://127.0.0.1:0");
        builder.Logging.ClearProviders();
        var app = builder.Build();
        var server = new TableServer(app);
        app.MapGet("/table/v1/driving/{points}", server.HandleAsync);
        await app.StartAsync();
        return server;
    }

    public void Says(string body, int status = 200) => Answer = _ => Task.FromResult((status, body));

    public void SaysTable(string? cell = null, int extraRows = 0) => Answer = question => Task.FromResult((200, question.Table(cell, extraRows)));

    public void Waits(TimeSpan time) => Answer = async question =>
    {
        await Task.Delay(time);
        return (200, question.Table());
    };

    public async ValueTask DisposeAsync()
    {
        using var now = new CancellationTokenSource(TimeSpan.Zero);
        await _app.StopAsync(now.Token);
        await _app.DisposeAsync();
    }

    private async Task HandleAsync(HttpContext context)
    {
        Interlocked.Increment(ref _asked);
        Assert.Equal("duration,distance", context.Request.Query["annotations"]);
        var question = TableQuestion.Read(context.Request);
        lock (Questions)
        {
            Questions.Add(question);
        }

        var (status, body) = await Answer(question);
        context.Response.StatusCode = status;
        await context.Response.Body.WriteAsync(Encoding.UTF8.GetBytes(body));
    }
}
