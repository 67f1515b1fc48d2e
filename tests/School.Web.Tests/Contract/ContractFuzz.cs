using System.Globalization;
using System.Net;
using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Tests.Contract;

/// <summary>Somebody who asks.</summary>
internal sealed record Caller(Hat? Role, HttpClient Client);

/// <summary>
/// Asks every operation of the document for what it says it takes and for what it says it does not, and compares each answer with what
/// the document says may come: status, form, schema and headers.
/// </summary>
internal sealed class ContractFuzz(ContractDocument document, IReadOnlyList<Caller> callers)
{
    private const int LongerThanRead = 9000;
    private readonly WireValues _values = new(document, []);
    private readonly Dictionary<string, (int Count, string First)> _faults = [];

    public IReadOnlyList<string> Faults => [.. _faults.OrderBy(fault => fault.Key).Select(fault => $"{fault.Key} ({fault.Value.Count} times, first: {fault.Value.First})")];

    /// <summary>How often each operation was answered with success.</summary>
    public Dictionary<string, int> Successes { get; } = [];

    public int Asked { get; private set; }

    /// <summary>Reads all there is to read once, so that ids are known.</summary>
    public async Task LearnAsync()
    {
        foreach (var operation in document.Operations.Where(o => o.IsRead).OrderBy(o => o.Path.Count(c => c == '{')))
        {
            await AskAsync(operation, callers[^1], new Random(operation.Path.Length));
        }
    }

    public async Task AskAsync(Operation operation, Caller caller, Random random)
    {
        var address = Address(operation, random);
        if (random.Next(100) == 0)
        {
            address += $"{(address.Contains('?', StringComparison.Ordinal) ? '&' : '?')}more={new string('x', LongerThanRead)}";
        }

        using var request = new HttpRequestMessage(new HttpMethod(operation.Method.ToUpperInvariant()), address);
        string? how = null;
        if (operation.Body is { } schema)
        {
            JsonNode? body;
            if (random.Next(3) == 0 && _values.Invalid(random, schema) is { } invalid)
            {
                (body, how) = invalid;
                Assert.NotEmpty(document.Faults(schema, JsonSerializer.SerializeToElement(body)));
            }
            else
            {
                body = _values.Valid(random, schema, "");
                var own = document.Faults(schema, JsonSerializer.SerializeToElement(body));
                Assert.True(own.Count == 0, $"{operation}: the test made {body?.ToJsonString()}, which the document does not take: {string.Join(' ', own)}");
            }

            request.Content = new StringContent(body?.ToJsonString() ?? "null", Encoding.UTF8, "application/json");
        }

        await AddHeadersAsync(operation, caller, request, address, random);
        using var answer = await caller.Client.SendAsync(request, operation.Until);
        Asked++;
        var text = operation.Streams && answer.IsSuccessStatusCode ? "" : await answer.Content.ReadAsStringAsync();
        var first = $"{caller.Role?.ToString() ?? "nobody"} {operation.Method.ToUpperInvariant()} {address} {(request.Content is null ? "" : await request.Content.ReadAsStringAsync())} → {(int)answer.StatusCode} {text[..Math.Min(400, text.Length)]}";
        Judge(operation, answer, text, fault => Note($"{operation}: {fault}", first));
        if (how is not null && answer.IsSuccessStatusCode)
        {
            Note($"{operation}: taken though {how}", first);
        }

        if (answer.IsSuccessStatusCode)
        {
            Successes[operation.Name] = Successes.GetValueOrDefault(operation.Name) + 1;
        }
    }

    private void Judge(Operation operation, HttpResponseMessage answer, string text, Action<string> note)
    {
        var status = ((int)answer.StatusCode).ToString(CultureInfo.InvariantCulture);
        if (operation.Node["responses"]![status] is not JsonObject told)
        {
            note($"{status} is not in the document");
            return;
        }

        if (status[0] == '5')
        {
            note($"{status} is an error of ours");
        }

        var type = answer.Content.Headers.ContentType?.MediaType;
        var content = told["content"] as JsonObject;
        if (content is null ? text.Length > 0 : type is null || content[type] is null)
        {
            note($"{status} has content {type ?? "of no type"}");
        }
        else if (content?[type!]?["schema"] is { } schema && type!.EndsWith("json", StringComparison.Ordinal))
        {
            using var value = JsonDocument.Parse(text);
            foreach (var fault in document.Faults(schema, value.RootElement))
            {
                note($"{status} {Numbers(fault)}");
            }

            if (answer.IsSuccessStatusCode)
            {
                _values.Learn(JsonNode.Parse(text)?["items"] ?? JsonNode.Parse(text), Resource(operation.Path));
            }
        }

        var headers = told["headers"] as JsonObject ?? [];
        foreach (var (name, header) in headers.Where(h => (bool?)h.Value!["required"] == true && !answer.Headers.Contains(h.Key)))
        {
            note($"{status} lacks {name}");
        }

        foreach (var name in new[] { "ETag", "Location", "Retry-After", "WWW-Authenticate", "Idempotency-Replayed" }.Where(name => answer.Headers.Contains(name) && !headers.ContainsKey(name)))
        {
            note($"{status} tells {name}, which is not in the document");
        }
    }

    private static async Task AddHeadersAsync(Operation operation, Caller caller, HttpRequestMessage request, string address, Random random)
    {
        foreach (var parameter in operation.Parameters("header"))
        {
            var name = (string)parameter["name"]!;
            switch (name)
            {
                case "If-Match" when random.Next(8) > 0:
                    var tag = random.Next(4) == 0 ? "\"9999\"" : await TagAsync(caller, address);
                    request.Headers.TryAddWithoutValidation(name, tag ?? "*");
                    break;
                case "If-None-Match" when random.Next(4) == 0:
                    request.Headers.TryAddWithoutValidation(name, await TagAsync(caller, address) ?? "*");
                    break;
                case "Idempotency-Key" when random.Next(3) == 0:
                    request.Headers.TryAddWithoutValidation(name, random.Next(4) switch { 0 => "always the same", 1 => new string('k', 201), _ => Guid.NewGuid().ToString() });
                    break;
            }
        }
    }

    private static async Task<string?> TagAsync(Caller caller, string address)
    {
        using var read = await caller.Client.GetAsync(address);
        return read.StatusCode == HttpStatusCode.OK ? read.Headers.ETag?.ToString() : null;
    }

    private string Address(Operation operation, Random random)
    {
        var path = operation.Path;
        foreach (var parameter in operation.Parameters("path"))
        {
            var name = (string)parameter["name"]!;
            var before = path[..path.IndexOf($"/{{{name}}}", StringComparison.Ordinal)].Split('/')[^1];
            var value = random.Next(12) == 0 ? RowId.New().ToString() : _values.Known(random, $"{before}.id") ?? _values.Known(random, name) ?? _values.Valid(random, parameter["schema"]!, name);
            path = path.Replace($"{{{name}}}", Uri.EscapeDataString(value!.ToString()), StringComparison.Ordinal);
        }

        var query = operation.Parameters("query").Where(parameter => (bool?)parameter["required"] == true ? random.Next(20) > 0 : random.Next(3) == 0)
            .Select(parameter => $"{(string)parameter["name"]!}={Uri.EscapeDataString(random.Next(15) == 0 ? "nonsense" : _values.Valid(random, parameter["schema"]!, (string)parameter["name"]!)?.ToString() ?? "")}");
        return $"{path}?{string.Join('&', query)}".TrimEnd('?');
    }

    // What a list at /pupils/{id}/practice tells are ids for /pupils/{id}/practice/{practiceId}.
    private static string Resource(string path) => path.Split('/').Last(part => part.Length > 0 && part[0] != '{');

    private static string Numbers(string fault) => System.Text.RegularExpressions.Regex.Replace(fault, @"/\d+", "/n");

    private void Note(string fault, string first) => _faults[fault] = _faults.TryGetValue(fault, out var known) ? (known.Count + 1, known.First) : (1, first);
}
