using System.IO.Compression;
using System.Net;
using System.Net.Http.Headers;
using System.Text;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using Npgsql;
using School.Tests;
using School.Web.Modules.Places;
using School.Web.Modules.Places.Postcodes;
using School.Web.Tests.Host;

namespace School.Web.Tests.Places;

/// <summary>The postcodes of a file: all of them or none, whatever is wrong with the file or happens on the way.</summary>
public sealed class LoadPostcodesTests(TestPostgres postgres) : IDisposable
{
    // The first two are lines of OS Code-Point Open as its readers quote them; the others are made up in the same form.
    private const string Good = """
        "N1 0AA",10,530626,183961,"E92000001","E19000003","E18000007","","E09000019","E05000368"
        "N9  9ZW",10,534152,193613,"E92000001","E19000003","E18000007","","E09000010","E05000197"
        "N9  9ZX",60,534152,193613,"E92000001","E19000003","E18000007","","",""
        "N9  9ZY",90,0,0,"E92000001","","","","",""
        """;

    private readonly string _folder = Directory.CreateTempSubdirectory("postcodes").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public async Task The_command_takes_a_zip_as_it_is_published_and_can_be_repeated()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var zip = Zip(("Doc/Code-Point_Open_Column_Headers.csv", "PC,PQ\r\nPostcode,x\r\n"), ("Data/CSV/n.csv", Good), ("Data/CSV/se.csv", Se));
        foreach (var _ in Enumerable.Range(0, 2))
        {
            var (code, said) = await SchoolCommand.RunAsync(host.ConnectionString, "postcodes", zip);

            Assert.True(code == 0, said);
            Assert.Contains("4 postcodes of 3 districts loaded, 1 of them only roughly; 1 left out", said, StringComparison.Ordinal);
            Assert.Equal(["N1 0AA 10", "N9 9ZW 10", "N9 9ZX 60", "SE9 9DE 10"], await KeptAsync(host));
        }

        // The district's middle is the mean of its postcodes.
        var middle = await host.WithDbAsync(db => db.Set<DistrictRow>().SingleAsync(d => d.District == "N9"));
        Assert.Equal((51.6254, 2), (Math.Round(middle.Latitude, 4), middle.Postcodes));
    }

    [Theory]
    [InlineData("\"N1 0AA\",10,530626", "n.csv, line 1: 3 columns, where 10 are expected.")]
    [InlineData("\"N1 0AA\",530626,10,183961,\"\",\"\",\"\",\"\",\"\",\"\"", "n.csv, line 1: “530626” stands where the quality")]
    [InlineData("{good}\r\n\"N1 0AB\",10,530626,183961,\"E920", "n.csv, line 5: a quotation mark is not closed. The file may be cut off here.")]
    [InlineData("{good}\r\n\"N1 0AA\",10,530626,183961,\"\",\"\",\"\",\"\",\"\",\"\"", "n.csv, line 5: the postcode N1 0AA stands in the file a second time.")]
    [InlineData("", "The file is empty.")]
    [InlineData("\"N9  9ZY\",90,0,0,\"E92000001\",\"\",\"\",\"\",\"\",\"\"", "There is no postcode with a position in it.")]
    public async Task A_file_that_is_wrong_is_told_by_file_and_line_and_leaves_the_old_postcodes(string content, string sentence)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        (await SendAsync(office, Encoding.UTF8.GetBytes(Se))).EnsureSuccessStatusCode();

        var (code, said) = await SchoolCommand.RunAsync(host.ConnectionString, "postcodes", Write("n.csv", content.Replace("{good}", Good, StringComparison.Ordinal)));

        Assert.Equal(1, code);
        Assert.Contains(sentence, said, StringComparison.Ordinal);
        Assert.Contains("what was loaded before stands", said, StringComparison.Ordinal);
        Assert.Equal(["SE9 9DE 10"], await KeptAsync(host));
    }

    [Fact]
    public async Task All_faults_are_told_in_one_round_and_those_of_another_kind_of_file_end()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());

        using var two = await SendAsync(office, Encoding.UTF8.GetBytes($"{Good}\nnot a line\nnor this"));
        using var many = await SendAsync(office, Encoding.UTF8.GetBytes(string.Join('\n', Enumerable.Repeat("a,b", 500))));

        var told = await RefusedAsync(two);
        Assert.Equal("postcode_file_wrong", told.GetProperty("code").GetString());
        Assert.Equal([5, 6], told.GetProperty("faults").EnumerateArray().Select(fault => fault.GetProperty("line").GetInt32()));
        Assert.Equal(CheckedFile.MostFaults, (await RefusedAsync(many)).GetProperty("faults").GetArrayLength());
        Assert.Empty(await KeptAsync(host));
    }

    [Fact]
    public async Task A_zip_that_is_cut_off_or_holds_something_else_is_told()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var whole = await File.ReadAllBytesAsync(Zip(("Data/CSV/n.csv", Good), ("Data/CSV/se.csv", Se)));
        var other = await File.ReadAllBytesAsync(Zip(("readme.txt", "nothing")));

        using var cut = await SendAsync(office, whole[..(whole.Length / 2)]);
        using var without = await SendAsync(office, other);

        Assert.Contains("cut off or damaged", (await RefusedAsync(cut)).GetProperty("detail").GetString(), StringComparison.Ordinal);
        Assert.Contains("no CSV file", (await RefusedAsync(without)).GetProperty("detail").GetString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Columns_in_another_order_are_read_where_a_line_names_them()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());

        (await SendAsync(office, "NO,EA,PC,PQ\n174310,542733,SE9 9DE,20\n"u8.ToArray())).EnsureSuccessStatusCode();

        Assert.Equal(["SE9 9DE 20"], await KeptAsync(host));
    }

    [Fact]
    public async Task A_line_without_an_end_and_a_file_that_unpacks_to_more_than_a_gigabyte_are_refused_without_being_read()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var large = Path.Combine(_folder, "large.csv");
        await using (var file = File.Create(large))
        {
            file.SetLength(3L << 30); // three gigabytes of nothing, which take no room on the disk
        }

        using var endless = await SendAsync(office, Encoding.UTF8.GetBytes(new string('a', 300_000)));
        var (code, said) = await SchoolCommand.RunAsync(host.ConnectionString, "postcodes", large);

        Assert.Contains("more than 1000 characters", (await RefusedAsync(endless)).GetProperty("detail").GetString(), StringComparison.Ordinal);
        Assert.Equal(1, code);
        Assert.Contains("The file holds 3,072 MB of text", said, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Somebody_who_dies_half_way_leaves_the_old_postcodes()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        (await SendAsync(office, Encoding.UTF8.GetBytes(Se))).EnsureSuccessStatusCode();
        var file = Write("many.csv", string.Join('\n', Many(200_000)));

        var loading = SchoolCommand.RunAsync(host.ConnectionString, "postcodes", file);
        await using var watch = new NpgsqlConnection(host.ConnectionString);
        await watch.OpenAsync();
        await using var kill = new NpgsqlCommand(
            "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity WHERE datname = current_database() AND state = 'active' AND query LIKE 'COPY places.postcodes%'", watch);
        while ((long)(await kill.ExecuteScalarAsync())! == 0)
        {
            Assert.False(loading.IsCompleted, loading.IsCompleted ? (await loading).Said : "");
            await Task.Delay(5);
        }

        Assert.NotEqual(0, (await loading).ExitCode);
        Assert.Equal(["SE9 9DE 10"], await KeptAsync(host));
        Assert.Equal(0, (await SchoolCommand.RunAsync(host.ConnectionString, "postcodes", file)).ExitCode);
        Assert.Equal(200_000, await host.WithDbAsync(db => db.Set<PostcodeRow>().CountAsync()));
    }

    [Fact]
    public async Task The_office_loads_a_file_of_more_than_a_form_may_have_and_reads_what_there_is()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var token = await browser.FormTokenAsync("/places/postcodes");
        using var form = new MultipartFormDataContent
        {
            { new StringContent(token), "__RequestVerificationToken" },
            { new StringContent(string.Join('\n', Many(40_000))), "Upload", "lk.csv" },
        };

        using var answer = await browser.PostAsync("/places/postcodes", form);
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);

        var page = await browser.GetStringAsync("/places/postcodes");
        Assert.Contains("40,000", page, StringComparison.Ordinal);
        Assert.Contains("lk.csv", page, StringComparison.Ordinal);
        Assert.Contains("Northern Ireland", page, StringComparison.Ordinal);
        Assert.DoesNotContain(new DirectoryInfo(Path.GetTempPath()).EnumerateFiles("school-upload-*"), file => file.Length > 1 << 20);
    }

    [Fact]
    public async Task More_than_two_hundred_megabytes_are_refused_before_they_are_read_and_elsewhere_a_megabyte_is_the_end()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());

        using var huge = await office.PostAsync("/api/v1/postcodes", new Endless(PostcodeFile.LargestUpload + 1));
        using var elsewhere = await office.PostAsync("/api/v1/areas", new Endless(2 << 20));

        Assert.Equal(HttpStatusCode.RequestEntityTooLarge, huge.StatusCode);
        Assert.Equal(HttpStatusCode.RequestEntityTooLarge, elsewhere.StatusCode);
    }

    [Fact]
    public async Task A_postcode_tells_where_it_lies_and_how_well_that_is_known()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        (await SendAsync(office, Encoding.UTF8.GetBytes(Good))).EnsureSuccessStatusCode();

        var found = await (await office.GetAsync("/api/v1/postcodes/n10aa")).JsonAsync();

        Assert.Equal(("N1 0AA", 10), (found.GetProperty("postcode").GetString(), found.GetProperty("quality").GetInt32()));
        Assert.Equal(51.539442, found.GetProperty("latitude").GetDouble(), 1e-5);
        Assert.Equal(HttpStatusCode.NotFound, (await office.GetAsync("/api/v1/postcodes/N9%209ZY")).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await office.GetAsync("/api/v1/postcodes/nowhere")).StatusCode);
    }

    private const string Se = "\"SE9 9DE\",10,542733,174310,\"E92000001\",\"E19000003\",\"E18000007\",\"\",\"E09000011\",\"E05000219\"";

    internal static IEnumerable<string> Many(int count)
    {
        const string Letters = "ABDEFGHJLNPQRSTUWXYZ";
        for (var n = 0; n < count; n++)
        {
            yield return $"\"LK{1 + (n / 4000)} {n / 400 % 10}{Letters[n / 20 % 20]}{Letters[n % 20]}\",10,{500_000 + (n % 5000)},{300_000 + (n / 100)},\"\",\"\",\"\",\"\",\"\",\"\"";
        }
    }

    private static async Task<HttpResponseMessage> SendAsync(HttpClient office, byte[] file)
    {
        using var content = new ByteArrayContent(file) { Headers = { ContentType = new MediaTypeHeaderValue("application/octet-stream") } };
        return await office.PostAsync("/api/v1/postcodes", content);
    }

    private static async Task<JsonElement> RefusedAsync(HttpResponseMessage answer)
    {
        Assert.Equal(HttpStatusCode.UnprocessableEntity, answer.StatusCode);
        return await answer.JsonAsync();
    }

    private static Task<List<string>> KeptAsync(SchoolHost host) =>
        host.WithDbAsync(db => db.Set<PostcodeRow>().OrderBy(p => p.Postcode).Select(p => p.Postcode + " " + p.Quality).ToListAsync());

    private string Write(string name, string content)
    {
        var path = Path.Combine(_folder, name);
        File.WriteAllText(path, content);
        return path;
    }

    private string Zip(params (string Name, string Content)[] files)
    {
        var path = Path.Combine(_folder, "codepo.zip");
        File.Delete(path);
        using var zip = ZipFile.Open(path, ZipArchiveMode.Create);
        foreach (var (name, content) in files)
        {
            using var writer = new StreamWriter(zip.CreateEntry(name).Open());
            writer.Write(content.ReplaceLineEndings("\r\n"));
        }

        return path;
    }

    private sealed class Endless(long length) : HttpContent
    {
        protected override async Task SerializeToStreamAsync(Stream stream, TransportContext? context)
        {
            for (var sent = 0L; sent < length; sent += 1 << 16)
            {
                await stream.WriteAsync(new byte[1 << 16]);
            }
        }

        protected override bool TryComputeLength(out long size)
        {
            size = length;
            return true;
        }
    }
}
