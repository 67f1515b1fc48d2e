using System.Globalization;
using System.Net;

namespace School.Web.Modules.Travel.Routing;

/// <summary>Asks the table service, with a limit on time and size. Every way of failing is an answer with its problem.</summary>
internal sealed class TableClient : IDisposable
{
    /// <summary>How many places one question may name; what such servers take unless told otherwise.</summary>
    public const int MostPlaces = 100;

    private const int LargestAnswer = 4 * 1024 * 1024;
    private readonly RoutingSettings _settings;
    private readonly HttpClient _http;

    public TableClient(RoutingSettings settings)
    {
        _settings = settings;
        _http = new(new SocketsHttpHandler { AllowAutoRedirect = false, UseCookies = false, PooledConnectionLifetime = TimeSpan.FromMinutes(5) })
        {
            BaseAddress = settings.Server,
            // Ours is per question and names itself in the problem.
            Timeout = System.Threading.Timeout.InfiniteTimeSpan,
            MaxResponseContentBufferSize = LargestAnswer,
        };
    }

    public async Task<TableAnswer> AskAsync(IReadOnlyList<Cell> sources, IReadOnlyList<Cell> destinations, CancellationToken cancel)
    {
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(cancel);
        limit.CancelAfter(_settings.Timeout);
        try
        {
            using var answer = await _http.GetAsync(Question(sources, destinations), limit.Token);
            return answer.StatusCode == HttpStatusCode.OK
                ? TableReader.Read(await answer.Content.ReadAsByteArrayAsync(limit.Token), sources, destinations)
                : TableAnswer.Bad($"it answered {(int)answer.StatusCode}");
        }
        catch (OperationCanceledException) when (!cancel.IsCancellationRequested)
        {
            return TableAnswer.Bad(string.Create(CultureInfo.InvariantCulture, $"it did not answer within {_settings.Timeout.TotalSeconds:0.##} seconds"));
        }
        catch (HttpRequestException broken) when (broken.HttpRequestError is HttpRequestError.ConfigurationLimitExceeded)
        {
            return TableAnswer.Bad($"its answer is larger than {LargestAnswer / 1024 / 1024} MiB");
        }
        catch (Exception broken) when (broken is HttpRequestException or IOException)
        {
            return TableAnswer.Bad("it could not be reached");
        }
    }

    public void Dispose() => _http.Dispose();

    private static Uri Question(IReadOnlyList<Cell> sources, IReadOnlyList<Cell> destinations)
    {
        var square = sources.SequenceEqual(destinations);
        var places = square ? sources : [.. sources, .. destinations];
        var points = string.Join(';', places.Select(cell => string.Create(CultureInfo.InvariantCulture, $"{cell.At().Longitude:0.####},{cell.At().Latitude:0.####}")));
        var which = square ? "" : $"&sources={Numbers(0, sources.Count)}&destinations={Numbers(sources.Count, destinations.Count)}";
        return new($"table/v1/driving/{points}?annotations=duration,distance{which}", UriKind.Relative);
    }

    private static string Numbers(int first, int count) => string.Join(';', Enumerable.Range(first, count));
}
