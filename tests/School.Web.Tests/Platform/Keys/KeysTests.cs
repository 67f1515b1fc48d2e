using System.Net;
using System.Runtime.Versioning;
using System.Security.Cryptography;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting.Internal;
using School.Tests;
using School.Web.Modules.Pupils;
using School.Web.Platform.Keys;
using School.Web.Platform.Security;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Keys;

/// <summary>Nothing in the database opens anything without the key file beside it.</summary>
public sealed class KeysTests(TestPostgres postgres)
{
    private const string Number = "OAKLE 805123 TS9AB";
    private static readonly string Another = new('a', 64);

    [Fact]
    public async Task No_key_stands_readable_in_the_database()
    {
        await using var host = await SchoolHost.OfItsOwnAsync(postgres);
        await host.Data.OfficeAsync();
        // A key is made when the first form is shown.
        using var browser = host.Browser();
        (await browser.GetAsync("/people/sign-in")).EnsureSuccessStatusCode();

        var (cookies, sealing) = await RowsAsync(host);

        Assert.NotEmpty(cookies);
        Assert.All(cookies, xml => Assert.DoesNotContain("masterKey", xml, StringComparison.Ordinal));
        Assert.All(cookies, xml => Assert.Contains("CookieKeyDecryptor", xml, StringComparison.Ordinal));
        var key = Assert.Single(sealing);
        Assert.NotNull(key.WrappedBy);
        Assert.True(key.Key.Length > AesBox.KeyOctets, "A wrapped key is longer than the key.");
    }

    [Fact]
    public async Task Guarded_fields_open_with_keys_of_their_own_whatever_becomes_of_those_of_cookies()
    {
        await using var host = await SchoolHost.OfItsOwnAsync(postgres);
        var text = await SealAsync(host, Number);
        await host.WithDbAsync(db => db.Database.ExecuteSqlAsync($"DELETE FROM platform.data_protection_keys"));
        await using var second = host.SecondNode();
        Assert.Equal(Number, await OpenAsync(second, text));
        Assert.NotEqual(text, await SealAsync(second, Number));
        var changed = text[..^2] + (text[^2] == 'A' ? 'B' : 'A') + text[^1];
        await Assert.ThrowsAnyAsync<CryptographicException>(() => OpenAsync(second, changed));
        await Assert.ThrowsAnyAsync<CryptographicException>(() => OpenAsync(second, "s2:" + text[30..]));
        await Assert.ThrowsAnyAsync<CryptographicException>(() => OpenAsync(second, "not sealed at all"));
    }

    [Theory]
    [InlineData(null)]
    [InlineData("another")]
    [InlineData("spoilt")]
    public async Task A_node_whose_key_does_not_fit_starts_and_says_so_and_makes_no_keys(string? how)
    {
        await using var host = await SchoolHost.OfItsOwnAsync(postgres);
        await host.Data.OfficeAsync();
        await SealAsync(host, Number);
        var before = await host.WithDbAsync(db => db.DataProtectionKeys.CountAsync());
        await using var other = host.SecondNode(
            ("School:KeyFile", how is null ? "" : TestKeyFile.Make(how == "another" ? Another : "this is no key")));
        using var browser = other.Browser();

        var ready = await browser.GetAsync("/health/ready");

        Assert.Equal(HttpStatusCode.ServiceUnavailable, ready.StatusCode);
        Assert.Contains("keys: This node cannot open the keys in the database", await ready.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.OK, (await browser.GetAsync("/health/live")).StatusCode);
        Assert.Equal(HttpStatusCode.ServiceUnavailable, (await browser.GetAsync("/people/sign-in")).StatusCode);
        Assert.Equal(before, await host.WithDbAsync(db => db.DataProtectionKeys.CountAsync()));
        // The node with the right key is not disturbed.
        using var good = host.Anonymous();
        Assert.Equal("Healthy\n", await good.GetStringAsync("/health/ready"));
    }

    /// <summary>An installation from before: keys readable, guarded columns sealed with the keys of cookies.</summary>
    [Fact]
    public async Task Keys_that_stand_readable_are_wrapped_at_the_next_start_and_what_was_sealed_with_them_is_sealed_anew()
    {
        await using var host = await SchoolHost.StartAsync(postgres, settings: ("School:KeyFile", ""));
        await host.WithDbAsync(db => db.Database.ExecuteSqlAsync($"DELETE FROM platform.sealing_keys; DELETE FROM platform.data_protection_keys"));
        var pupil = await host.Data.PupilAsync();
        var person = await host.Data.OfficeAsync();
        await using var before = host.SecondNode();
        var older = before.Services.GetRequiredService<IDataProtectionProvider>().CreateProtector("School.GuardedColumns.v1").Protect(Number);
        await SetAsync(host, pupil.Id, older);
        var cookie = await CookieOf.SignedInAsync(before, person);
        Assert.Contains("masterKey", string.Concat((await RowsAsync(host)).Cookies), StringComparison.Ordinal);

        await using var after = host.SecondNode(("School:KeyFile", TestKeyFile.Path), ("School:MigrateAtStart", "true"));
        using var anybody = after.Anonymous();
        Assert.Equal("Healthy\n", await anybody.GetStringAsync("/health/ready"));

        var (cookies, sealing) = await RowsAsync(host);
        Assert.All(cookies, xml => Assert.DoesNotContain("masterKey", xml, StringComparison.Ordinal));
        Assert.NotNull(Assert.Single(sealing).WrappedBy);
        var anew = await host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == pupil.Id).Select(p => p.DriverNumberSealed).SingleAsync());
        Assert.StartsWith("s2:", anew, StringComparison.Ordinal);
        Assert.Equal(Number, await OpenAsync(after, anew!));
        Assert.Equal(Number, await OpenAsync(after, older));
        // Nobody was signed out by it.
        Assert.Equal(HttpStatusCode.OK, (await CookieOf.AskAsync(after, "/people/office", cookie)).StatusCode);
    }

    [Fact]
    public async Task A_new_first_line_of_the_key_file_wraps_anew_and_the_old_line_may_go_then()
    {
        await using var host = await SchoolHost.OfItsOwnAsync(postgres);
        await host.Data.OfficeAsync();
        var text = await SealAsync(host, Number);
        using var browser = host.Browser();
        (await browser.GetAsync("/people/sign-in")).EnsureSuccessStatusCode();
        var old = (await File.ReadAllTextAsync(TestKeyFile.Path)).Trim();
        await using (var turning = host.SecondNode(("School:KeyFile", TestKeyFile.Make(Another + "\n" + old))))
        {
            Assert.Equal(Number, await OpenAsync(turning, text));
        }

        await using var turned = host.SecondNode(("School:KeyFile", TestKeyFile.Make(Another)));
        Assert.Equal(Number, await OpenAsync(turned, text));
        using var anybody = turned.Browser();
        Assert.Equal("Healthy\n", await anybody.GetStringAsync("/health/ready"));
        Assert.Equal(HttpStatusCode.OK, (await anybody.GetAsync("/people/sign-in")).StatusCode);
    }

    [Fact, UnsupportedOSPlatform("windows")]
    public void A_private_database_gets_its_key_file_by_itself_for_its_owner_alone_and_keeps_it()
    {
        var folder = Directory.CreateTempSubdirectory("school-key-");
        try
        {
            KeyFile Here() => new(Settings(("School:PrivateDatabase", "true"), ("SCHOOL_DATA", folder.FullName)), new HostingEnvironment { ContentRootPath = "/" });
            Assert.Empty(Here().Read());
            var made = Here().Make();
            var path = Path.Combine(folder.FullName, "school.key");
            Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(path));
            Assert.Equal(made.Id, Assert.Single(Here().Read()).Id);
            Assert.Matches("^[0-9a-f]{64}\n$", File.ReadAllText(path));
            Assert.Throws<IOException>(Here().Make);
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    [Theory]
    [InlineData("", "is empty")]
    [InlineData("12345", "64 hexadecimal digits")]
    [InlineData("zz61726b6669656c642044726976696e67205363686f6f6c2c20696e76656e74", "64 hexadecimal digits")]
    public void A_file_that_holds_no_key_is_told_with_how_to_make_one(string content, string says)
    {
        var wrong = Assert.Throws<KeysLockedException>(() => KeyFile.At(TestKeyFile.Make(content)).Read());
        Assert.Contains(says, wrong.Message, StringComparison.Ordinal);
        Assert.Contains("openssl rand -hex 32", wrong.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_named_file_that_is_not_there_is_told_and_never_made()
    {
        var file = new KeyFile(Settings(("School:KeyFile", "/nowhere/school.key"), ("School:PrivateDatabase", "true")), new HostingEnvironment { ContentRootPath = "/" });
        Assert.False(file.MayMake);
        Assert.Contains("/nowhere/school.key", Assert.Throws<KeysLockedException>(file.Read).Message, StringComparison.Ordinal);
    }

    /// <summary>NIST's own check values for GCM with a 256-bit key (The Galois/Counter Mode of Operation, McGrew and Viega, test case 14), opened from our layout.</summary>
    [Fact]
    public void A_box_is_nonce_tag_and_ciphertext_of_AES_256_GCM()
    {
        var key = new byte[32];
        byte[] box = [.. new byte[12], .. Convert.FromHexString("d0d1c8a799996bf0265b98b5d48ab919"), .. Convert.FromHexString("cea7403d4d606b6e074ec5d3baf39d18")];
        Assert.Equal(new byte[16], new AesBox(key).Open(box, ""));
        Assert.ThrowsAny<CryptographicException>(() => new AesBox(key).Open(box, "another purpose"));
        Assert.ThrowsAny<CryptographicException>(() => new AesBox(new byte[31 + 1].Select(_ => (byte)1).ToArray()).Open(box, ""));
    }

    private static async Task<(List<string> Cookies, List<SealingKey> Sealing)> RowsAsync(SchoolHost host) => (
        await host.WithDbAsync(db => db.DataProtectionKeys.Select(k => k.Xml!).ToListAsync()),
        await host.WithDbAsync(db => db.Set<SealingKey>().AsNoTracking().ToListAsync()));

    private static Task<int> SetAsync(SchoolHost host, Guid pupil, string text) => host.WithDbAsync(db =>
        db.Set<Pupil>().Where(p => p.Id == pupil).ExecuteUpdateAsync(set => set.SetProperty(p => p.DriverNumberSealed, text)));

    private static async Task<string> SealAsync(SchoolHost host, string text)
    {
        await using var scope = host.Services.CreateAsyncScope();
        return scope.ServiceProvider.GetRequiredService<Sealer>().Seal(text)!;
    }

    private static async Task<string?> OpenAsync(SchoolHost host, string text)
    {
        await using var scope = host.Services.CreateAsyncScope();
        return scope.ServiceProvider.GetRequiredService<Sealer>().Open(text);
    }

    private static IConfiguration Settings(params (string Key, string Value)[] settings) =>
        new ConfigurationBuilder().AddInMemoryCollection(settings.ToDictionary(s => s.Key, s => (string?)s.Value)).Build();
}
