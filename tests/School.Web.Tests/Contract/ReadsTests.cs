using System.Net;
using System.Text.Json;
using System.Text.Json.Nodes;
using NodaTime;
using School.Tests;
using School.Web.Platform.Database;
using School.Web.Tests.Host;

namespace School.Web.Tests.Contract;

/// <summary>HEAD, ETag and If-None-Match on every read; a replacement takes what its read gave.</summary>
public sealed class ReadsTests(TestPostgres postgres)
{
    [Fact]
    public async Task Every_read_answers_HEAD_and_tells_when_nothing_changed()
    {
        await using var host = await FuzzedSchool.StartAsync(postgres);
        var document = await ContractDocument.ReadAsync(host.Anonymous());
        var office = (await FuzzedSchool.CallersAsync(host))[^1].Client;
        var seen = 0;
        foreach (var (operation, addresses) in await ReadableAsync(document, office))
        {
            var address = addresses[0];
            using var read = await office.GetAsync(address);
            var body = await read.Content.ReadAsStringAsync();
            using var head = await office.SendAsync(HttpMethod.Head, address, null);
            Assert.True(head.StatusCode == HttpStatusCode.OK, $"HEAD {address}: {(int)head.StatusCode}");
            Assert.Empty(await head.Content.ReadAsStringAsync());
            Assert.Equal(read.Content.Headers.ContentType?.ToString(), head.Content.Headers.ContentType?.ToString());
            Assert.True(read.Headers.ETag is not null, $"GET {address} tells no ETag");
            using var again = await office.SendAsync(HttpMethod.Get, address, null, ("If-None-Match", read.Headers.ETag.ToString()));
            // What tells the moment it was asked changes by itself.
            Assert.True(again.StatusCode == HttpStatusCode.NotModified || body != await again.Content.ReadAsStringAsync(), $"GET {address} answered {(int)again.StatusCode} to its own ETag");
            Assert.True(again.StatusCode != HttpStatusCode.NotModified || again.Headers.ETag!.Equals(read.Headers.ETag), address);
            using var other = await office.SendAsync(HttpMethod.Get, address, null, ("If-None-Match", "\"nothing-like-it\""));
            Assert.Equal(HttpStatusCode.OK, other.StatusCode);
            seen++;
        }

        Assert.True(seen >= document.Operations.Count(o => o.IsRead) * 3 / 4, $"Only {seen} reads were tried.");
    }

    [Fact]
    public async Task A_replacement_takes_what_its_read_gave_and_changes_nothing()
    {
        await using var host = await FuzzedSchool.StartAsync(postgres);
        var document = await ContractDocument.ReadAsync(host.Anonymous());
        var office = (await FuzzedSchool.CallersAsync(host))[^1].Client;
        var (wrong, tried) = (new List<string>(), 0);
        foreach (var (operation, addresses) in await ReadableAsync(document, office))
        {
            if (document.Operations.FirstOrDefault(o => o.Method == "put" && o.Path == operation.Path) is not { } put)
            {
                continue;
            }

            // The record of a lesson that is not taught has nothing in it that could be sent, so some other one is looked for.
            var faults = new List<string>();
            string? address = null;
            foreach (var one in addresses)
            {
                var own = document.Faults(put.Body!, JsonSerializer.SerializeToElement((await ReadAsync(office, one)).Body));
                faults.AddRange(own);
                if (own.Count == 0)
                {
                    address = one;
                    break;
                }
            }

            if (address is null)
            {
                wrong.Add($"{put}: the document does not take what the read gave: {string.Join("; ", faults.Distinct())}");
                continue;
            }

            var (before, tag) = await ReadAsync(office, address);
            using var answer = await office.SendAsync(HttpMethod.Put, address, before, ("If-Match", tag));
            var text = await answer.Content.ReadAsStringAsync();
            // A rule may stand in the way of any change, such as that a lesson is not over.
            if (answer.StatusCode == HttpStatusCode.UnprocessableEntity)
            {
                continue;
            }

            tried++;
            if (!answer.IsSuccessStatusCode)
            {
                wrong.Add($"{put}: {(int)answer.StatusCode} {text} to {before.ToJsonString()}");
                continue;
            }

            var (after, _) = await ReadAsync(office, address);
            before.Remove("version");
            after.Remove("version");
            if (!JsonNode.DeepEquals(before, after))
            {
                wrong.Add($"{put}: {before.ToJsonString()} became {after.ToJsonString()}");
            }
        }

        Assert.True(wrong.Count == 0, string.Join('\n', wrong));
        Assert.True(tried > 10, $"Only {tried} replacements were tried.");
    }

    [Fact]
    public async Task What_only_the_service_sets_is_refused_by_name_when_it_was_changed_and_a_stale_copy_is_told_first()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var address = $"/api/v1/pupils/{pupil.Id}";
        var (body, tag) = await ReadAsync(office, address);
        body["retiredOn"] = "2026-01-01";
        body["id"] = RowId.New().ToString();
        body["name"] = "Tamsin Oakley-Reed";
        using var refused = await office.SendAsync(HttpMethod.Put, address, body, ("If-Match", tag));
        Assert.Equal(["id", "retiredOn"], await refused.WrongFieldsAsync());
        using var stale = await office.SendAsync(HttpMethod.Put, address, body, ("If-Match", "\"77\""));
        Assert.Equal(HttpStatusCode.PreconditionFailed, stale.StatusCode);
        using var none = await office.SendAsync(HttpMethod.Put, address, body);
        Assert.Equal(HttpStatusCode.PreconditionRequired, none.StatusCode);
        Assert.Equal("Tamsin Oakley", (string?)(await ReadAsync(office, address)).Body["name"]);
        body["nothingLikeThis"] = 1;
        using var unknown = await office.SendAsync(HttpMethod.Put, address, body, ("If-Match", tag));
        Assert.Equal(HttpStatusCode.BadRequest, unknown.StatusCode);
    }

    /// <summary>Addresses that can be read here, some of each operation: lists first, then things in them.</summary>
    private static async Task<IReadOnlyList<(Operation Operation, IReadOnlyList<string> Addresses)>> ReadableAsync(ContractDocument document, HttpClient office)
    {
        var told = new Dictionary<string, List<JsonNode>>();
        var values = new WireValues(document, told);
        var found = new List<(Operation, IReadOnlyList<string>)>();
        foreach (var operation in document.Operations.Where(o => o is { IsRead: true, Streams: false }).OrderBy(o => o.Path.Count(c => c == '{')).ThenBy(o => o.Path.Length))
        {
            var addresses = new List<string>();
            for (var n = 0; n < 20; n++)
            {
                var random = new Random(n);
                var address = operation.Path;
                foreach (var parameter in operation.Parameters("path"))
                {
                    var name = (string)parameter["name"]!;
                    var before = address[..address.IndexOf($"/{{{name}}}", StringComparison.Ordinal)].Split('/')[^1];
                    address = address.Replace($"{{{name}}}", (values.Known(random, $"{before}.id") ?? values.Known(random, name) ?? "2026-03-02").ToString(), StringComparison.Ordinal);
                }

                var query = operation.Parameters("query").Where(p => (bool?)p["required"] == true).Select(p => $"{p["name"]}={values.Known(random, (string)p["name"]!) ?? "2026-03-03"}");
                address = $"{address}?{string.Join('&', query)}".TrimEnd('?');
                if (addresses.Contains(address))
                {
                    continue;
                }

                using var answer = await office.GetAsync(address);
                if (answer.IsSuccessStatusCode && answer.Content.Headers.ContentType?.MediaType == "application/json")
                {
                    var json = JsonNode.Parse(await answer.Content.ReadAsStringAsync());
                    values.Learn(json?["items"] ?? json, operation.Path.Split('/').Last(part => part[0] != '{'));
                    addresses.Add(address);
                }
            }

            if (addresses.Count > 0)
            {
                found.Add((operation, addresses));
            }
        }

        return found;
    }

    private static async Task<(JsonObject Body, string Tag)> ReadAsync(HttpClient client, string address)
    {
        using var read = await client.GetAsync(address);
        Assert.Equal(HttpStatusCode.OK, read.StatusCode);
        return (JsonNode.Parse(await read.Content.ReadAsStringAsync())!.AsObject(), read.Headers.ETag!.ToString());
    }
}
